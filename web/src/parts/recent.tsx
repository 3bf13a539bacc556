import { useState } from "preact/hooks";
import { useHere } from "../here";
import type { Station } from "../log/holding";
import { to } from "../route";
import { entryWords } from "../words/told";
import { instant, t } from "../words/words";
import { Part } from "./screen";

const SHOWN = 6;
const RECENT = "recent";

/** Go there from the top of the screen: it stands at its end. */
export function toRecent(): void {
  const heading = document.querySelector<HTMLElement>(`#${RECENT} h2`);
  heading?.scrollIntoView({ block: "start" });
  heading?.focus({ preventScroll: true });
}

/** What was noted here lately; each line opens the entry, to be read, mended or taken back. */
export function Recent({ station }: { station: Station }) {
  const { journal, holding } = useHere();
  const [count, show] = useState(SHOWN);
  const unsent = new Set(journal.unsent.value.map((row) => row.entry.id));
  const here = journal.entries.value.filter((entry) => entry.station === station.id);
  if (here.length === 0) return null;
  return (
    <Part title={t("app.station.recent")} id={RECENT}>
      <ul class="plain-list rows">
        {here.slice(0, count).map((entry) => (
          <li key={entry.id}>
            <a class="row" href={to("entry", entry.id)}>
              <span>
                {entryWords(entry, holding)}
                <small>
                  {instant(entry.at)}
                  {unsent.has(entry.id) && ` · ${t("app.entry.unsent")}`}
                  {entry.note && ` · ${entry.note}`}
                </small>
              </span>
            </a>
          </li>
        ))}
      </ul>
      {here.length > count && (
        <button type="button" class="plain" onClick={() => show(count + 20)}>
          {t("app.station.earlier")}
        </button>
      )}
    </Part>
  );
}
