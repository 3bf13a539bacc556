import type { Output, Spread, Tally } from "../../generated/shapes";
import { Part } from "../../parts/screen";
import { Why } from "../../parts/why";
import { Wide } from "../../parts/wide";
import { estimate, say, t } from "../../words/words";

/** What came out, what it holds of the three nutrients, and what of them soil gets. */
export function Recovered({ tally }: { tally: Tally }) {
  const { outputs, nutrients, because } = tally.recovered;
  const known = nutrients.filter((one) => one.to_soil !== null);
  if (outputs.length === 0) return null;
  return (
    <>
      <Part title={t("app.tally.outputs")}>
        <dl class="figures">
          {outputs.map((one) => (
            <OutputLine key={one.what} one={one} />
          ))}
        </dl>
        <details class="more">
          <summary>{t("app.tally.contents")}</summary>
          <Wide called={t("app.tally.contents")}>
            <table class="numbers">
              <thead>
                <tr>
                  <th scope="col">{t("tally.report.product")}</th>
                  {NUTRIENTS.map((one) => (
                    <th key={one} scope="col" class="number">
                      {t(`app.tally.short.${one}`)}
                    </th>
                  ))}
                </tr>
              </thead>
              <tbody>
                {outputs.map((one) => (
                  <tr key={one.what}>
                    <th scope="row">{outputWords(one.what)}</th>
                    {NUTRIENTS.map((name) => (
                      <td key={name}>
                        <Kilograms of={one[name]} />
                      </td>
                    ))}
                  </tr>
                ))}
              </tbody>
            </table>
          </Wide>
        </details>
      </Part>
      {known.length > 0 && (
        <Part title={t("app.tally.soil")}>
          <dl class="figures">
            {known.map((one) => (
              <>
                <dt key={one.nutrient}>{t(`tally.nutrient.${one.nutrient}`)}</dt>
                <dd>
                  <Kilograms of={one.to_soil} unit />
                </dd>
              </>
            ))}
          </dl>
          <p class="soft">
            {t("app.tally.soil_text")} <Why because={because} />
          </p>
        </Part>
      )}
    </>
  );
}

const NUTRIENTS = ["nitrogen", "phosphorus", "potassium"] as const;

function OutputLine({ one }: { one: Output }) {
  const { amount, low, high } = estimate(one.kg, one.low, one.high, "kg");
  return (
    <>
      <dt>{outputWords(one.what)}</dt>
      <dd>
        {amount}
        {one.low !== one.high && <small class="range"> {t("app.range", { low, high })}</small>}
      </dd>
    </>
  );
}

function Kilograms({ of, unit = false }: { of: Spread | null; unit?: boolean }) {
  if (of === null) return <>{t("app.not_known")}</>;
  const { figure, amount, low, high } = estimate(of.mid, of.low, of.high, unit ? "kg" : "");
  return (
    <>
      {unit ? amount : figure} <small class="range">{t("app.range_short", { low, high })}</small>
    </>
  );
}

export const outputWords = (what: string): string =>
  say([`app.output.${what}`, `tally.out.${what}`, "app.output.other"], { what });
