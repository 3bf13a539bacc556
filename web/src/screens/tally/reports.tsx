import type { Month, Tally } from "../../generated/shapes";
import { Part } from "../../parts/screen";
import { t } from "../../words/words";
import { COLUMNS } from "./month_bars";

/** The same for a council, a landlord or a board: pages and files of the server; a small table from the phone. */
export function Reports({ tally }: { tally: Tally }) {
  const asked = new URLSearchParams({ from: tally.since, to: tally.until });
  const save = () => {
    const url = URL.createObjectURL(new Blob([monthsCsv(tally.months)], { type: "text/csv" }));
    const link = document.createElement("a");
    link.href = url;
    link.download = `fallowside-${tally.since}-${tally.until}.csv`;
    link.click();
    URL.revokeObjectURL(url);
  };
  return (
    <Part title={t("app.tally.reports")}>
      <p>{t("app.tally.reports_need")}</p>
      <div class="buttons">
        <a class="plain" href={`/api/report.html?${asked}`} target="_blank" rel="noreferrer">
          {t("app.tally.report_page")}
        </a>
        <a class="plain" href={`/api/report.xlsx?${asked}`} download>
          {t("tally.report.xlsx")}
        </a>
        <a class="plain" href={`/api/report.csv?${asked}`} download>
          {t("tally.report.csv")}
        </a>
        <button type="button" class="plain" onClick={save}>
          {t("app.tally.months_csv")}
        </button>
      </div>
    </Part>
  );
}

/** Months and streams as a table for other programmes: points for decimals, commas between, a line each. */
export function monthsCsv(months: readonly Month[]): string {
  const streams = [...new Set(months.flatMap((one) => Object.keys(one.streams)))].sort();
  const head = ["month", ...COLUMNS, ...streams.map((one) => `${one}_kg`)];
  const lines = months.map((one) => [
    one.month,
    ...COLUMNS.map((name) => one[name]),
    ...streams.map((name) => one.streams[name] ?? 0),
  ]);
  return `${[head, ...lines].map((cells) => cells.map(quoted).join(",")).join("\r\n")}\r\n`;
}

/** A name somebody chose may hold a comma, or look like a formula to a spreadsheet. */
function quoted(cell: string | number): string {
  if (typeof cell === "number") return String(cell);
  const plain = /^[=+\-@]/.test(cell) ? `'${cell}` : cell;
  return /[",\r\n]/.test(plain) ? `"${plain.replaceAll('"', '""')}"` : plain;
}
