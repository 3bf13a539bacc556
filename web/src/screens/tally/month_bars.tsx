import type { Month } from "../../generated/shapes";
import { Wide } from "../../parts/wide";
import { month, number, t } from "../../words/words";

/** A bar a month, read as a table by those who listen; a month that fell below nothing says so. */
export function MonthBars({ months }: { months: readonly Month[] }) {
  const most = Math.max(1, ...months.map((one) => one.net_kg));
  return (
    <>
      <table class="bars">
        <caption class="heard">{t("app.tally.months")}</caption>
        <tbody>
          {months.map((one) => (
            <tr key={one.month}>
              <th scope="row">{month(one.month)}</th>
              <td>
                <span class="bar-fill" style={{ width: `${(Math.max(0, one.net_kg) / most) * 100}%` }} />
                <span class="bar-value">{number(one.net_kg)}</span>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <details class="more">
        <summary>{t("app.tally.as_table")}</summary>
        <Wide called={t("app.tally.as_table")}>
          <table class="numbers">
            <thead>
              <tr>
                <th scope="col">{t("tally.report.month")}</th>
                {COLUMNS.map((one) => (
                  <th key={one} scope="col" class="number">
                    {t(`app.tally.column.${one}`)}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {months.map((one) => (
                <tr key={one.month}>
                  <th scope="row">{month(one.month)}</th>
                  {COLUMNS.map((name) => (
                    <td key={name}>{number(one[name])}</td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      </details>
    </>
  );
}

export const COLUMNS = ["net_kg", "low", "high", "measured_kg", "estimated_kg", "rejected_kg"] as const;
