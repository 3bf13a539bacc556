import { useState } from "preact/hooks";
import type { Avoided, Spread, Standard, Tally } from "../../generated/shapes";
import { Choice } from "../../parts/choice";
import { Part } from "../../parts/screen";
import { Why } from "../../parts/why";
import { becauseWords } from "../../words/planned";
import { estimate, mass, t } from "../../words/words";

/** What the tally means for the air, with its bounds, by the warming potentials one chooses. */
export function Methane({ avoided }: { avoided: Avoided }) {
  const [chosen, choose] = useState(avoided.reports.at(-1)?.report ?? "");
  const one = avoided.reports.find(({ report }) => report === chosen) ?? avoided.reports.at(-1);
  if (avoided.methane_kg.high === 0 || one === undefined) return null;
  return (
    <Part title={t("app.tally.methane")}>
      <p>{t("app.tally.methane_kg", spoken(avoided.methane_kg))}</p>
      <p>{t("app.tally.warming", { ...spoken(one.net), report: one.report })}</p>
      <p class="soft">
        {becauseWords(undefined, avoided.boundary)} <Why because={avoided.because} />
      </p>
      <details class="more">
        <summary>{t("app.tally.methane_more")}</summary>
        <Choice
          legend={t("app.tally.report")}
          chosen={[one.report]}
          onChoose={choose}
          choices={avoided.reports.map(({ report }) => ({ value: report, words: report }))}
        />
        <table class="numbers">
          <thead>
            <tr>
              <th scope="col">{t("app.tally.equivalent")}</th>
              {(["low", "middle", "high"] as const).map((end) => (
                <th key={end} scope="col" class="number">
                  {t(`tally.report.${end}`)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            <Ends name={t("tally.report.landfill")} of={one.landfill} />
            <Ends name={t("tally.report.treatment")} of={one.treatment} />
            <Ends name={t("tally.report.avoided")} of={one.net} />
            {one.measured && <Ends name={t("tally.report.measured")} of={one.measured} />}
            <Ends name={t("tally.report.avoided_wet")} of={one.net_wet} />
          </tbody>
        </table>
      </details>
    </Part>
  );
}

function Ends({ name, of }: { name: string; of: Spread }) {
  const { low, mid, high } = spoken(of);
  return (
    <tr>
      <th scope="row">{name}</th>
      <td>{low}</td>
      <td>{mid}</td>
      <td>{high}</td>
    </tr>
  );
}

/** By whose rules it may be told, and what these count. */
export function Standards({ tally }: { tally: Tally }) {
  if (tally.standards.length === 0) return null;
  return (
    <details class="more">
      <summary>{t("app.tally.standards")}</summary>
      {tally.standards.map((one) => (
        <StandardLine key={one.id} one={one} />
      ))}
    </details>
  );
}

function StandardLine({ one }: { one: Standard }) {
  return (
    <p class="standard">
      <strong>{mass(one.kg)}</strong> {t(one.key)} <small class="soft">{one.cite}</small>
    </p>
  );
}

/** The bare numbers of a range. */
function spoken(of: Spread): { low: string; mid: string; high: string } {
  const { figure, low, high } = estimate(of.mid, of.low, of.high, "");
  return { low, mid: figure, high };
}
