import type { Avoided, Nutrient, Spread, Standard, Tally } from "../../generated/shapes";
import { Part } from "../../parts/screen";
import { Why } from "../../parts/why";
import { becauseWords } from "../../words/planned";
import { measure, number, t } from "../../words/words";

/** What the tally means for air and soil, with its bounds, and by whose rules it may be told. */
export function Effects({ tally }: { tally: Tally }) {
  return (
    <>
      <Methane avoided={tally.avoided} />
      <Soil tally={tally} />
      {tally.standards.length > 0 && (
        <details class="more">
          <summary>{t("app.tally.standards")}</summary>
          {tally.standards.map((one) => (
            <StandardLine key={one.id} one={one} />
          ))}
        </details>
      )}
    </>
  );
}

function Methane({ avoided }: { avoided: Avoided }) {
  const newest = avoided.reports.at(-1);
  if (avoided.methane_kg.high === 0) return null;
  return (
    <Part title={t("app.tally.methane")}>
      <p>{t("app.tally.methane_kg", spoken(avoided.methane_kg))}</p>
      {newest && <p>{t("app.tally.warming", { ...spoken(newest.net), report: newest.report })}</p>}
      <p class="soft">
        {becauseWords(undefined, avoided.boundary)} <Why because={avoided.because} />
      </p>
    </Part>
  );
}

function Soil({ tally }: { tally: Tally }) {
  const known = tally.recovered.nutrients.filter((one) => one.to_soil !== null);
  if (known.length === 0) return null;
  return (
    <Part title={t("app.tally.soil")}>
      <dl class="figures">
        {known.map((one) => (
          <SoilLine key={one.nutrient} one={one} />
        ))}
      </dl>
      <p class="soft">
        {t("app.tally.soil_text")} <Why because={tally.recovered.because} />
      </p>
    </Part>
  );
}

function SoilLine({ one }: { one: Nutrient }) {
  return (
    <>
      <dt>{t(`tally.nutrient.${one.nutrient}`)}</dt>
      <dd>
        {measure(one.to_soil?.mid ?? 0, "kg")}{" "}
        {one.to_soil && <small>{t("app.range", spoken(one.to_soil))}</small>}
      </dd>
    </>
  );
}

function StandardLine({ one }: { one: Standard }) {
  return (
    <p class="standard">
      <strong>{measure(one.kg, "kg")}</strong> {t(one.key)} <small class="soft">{one.cite}</small>
    </p>
  );
}

const spoken = ({ low, mid, high }: Spread) => ({ low: number(low), mid: number(mid), high: number(high) });
