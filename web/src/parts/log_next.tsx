import type { Because } from "../generated/shapes";
import { isObject } from "../log/entry";
import type { Station } from "../log/holding";
import { kindsFor } from "../log/knowledge";
import { to } from "../route";
import { becauseWords } from "../words/planned";
import { t } from "../words/words";
import { LOGGED_BY } from "./layout";
import { Part } from "./screen";

/** What, if it were noted, would narrow the spans most; each leads to where it is noted. */
export function LogNext({ station }: { station: Station }) {
  const asked = asks(station.plan?.state ?? {});
  if (asked.length === 0) return null;
  return (
    <Part title={t("app.station.log_next")}>
      <ul class="plain-list rows">
        {asked.map(({ what, because }) => (
          <li key={because.key}>
            <a class="row" href={place(station, what)}>
              {becauseWords(station, because)}
            </a>
          </li>
        ))}
      </ul>
    </Part>
  );
}

type Ask = { readonly what: string; readonly because: Because };

/** Beds name what to note with its working; bins give the messages alone. */
function asks(state: Readonly<Record<string, unknown>>): Ask[] {
  const named = Array.isArray(state["log_next"]) ? (state["log_next"] as Ask[]) : [];
  const history = isObject(state["history"]) ? state["history"]["log"] : null;
  const bare = (Array.isArray(history) ? history : []).map((key) => ({
    what: String(key).split(".").at(-1) ?? "",
    because: { key: String(key), values: {}, entries: [], constants: [] },
  }));
  return [...named, ...bare];
}

function place(station: Station, what: string): string {
  const kind = LOGGED_BY[what];
  return kind !== undefined && kindsFor(station.type).includes(kind)
    ? to("station", station.id, "record", kind)
    : to("place", "stations");
}
