import { isObject } from "../log/entry";
import type { Station } from "../log/holding";
import { adviceWords, sideName } from "../words/planned";
import { t } from "../words/words";
import { Part } from "./screen";

/** That the side being fed should rest, why, whether the other is ready, and what helps if it is not. */
export function Turn({ station }: { station: Station }) {
  const state = station.plan?.state ?? {};
  const turn = state["turn"];
  if (!isObject(turn) || turn["due"] !== true) return null;
  const fed = String(state["feeding_side"]);
  const other = sideName(station, fed === "a" ? "b" : "a");
  const helps = Array.isArray(turn["helps"]) ? turn["helps"].map(String) : [];
  return (
    <Part title={t("bed.turn.title")}>
      <p>{t(`bed.turn.${turn["reason"]}`, { side: sideName(station, fed) })}</p>
      <p>{t(turn["other_ready"] ? "bed.turn.ready" : "bed.turn.not_ready", { side: other })}</p>
      {helps.length > 0 && (
        <ul class="remedies">
          {helps.map((key) => (
            <li key={key}>{adviceWords(station, key)}</li>
          ))}
        </ul>
      )}
    </Part>
  );
}
