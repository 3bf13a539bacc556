import { isObject } from "../log/entry";
import type { Station } from "../log/holding";
import { dueWords, sideName, spanWords } from "./planned";
import { t } from "./words";

/**
 * Why feeding should not move to the other side of a bed yet, sentence by sentence; none where it is due, or where
 * the plan doesn't say.
 *
 * @param fed the side being fed by the phone's own log: what a plan of before a switch says holds no more
 */
export function notDue(station: Station, fed: string): readonly string[] {
  const state = station.plan?.state ?? {};
  const turn = state["turn"];
  const ahead = station.plan?.ahead.find(({ what }) => what === "switch_sides");
  if (!isObject(turn) || ahead === undefined || state["feeding_side"] !== fed) return [];
  const other = sideName(station, fed === "a" ? "b" : "a");
  const phase = String(turn["other_phase"]);
  const unready = turn["other_ready"] === true ? [] : [t("app.switch.not_ready", { side: other, phase })];
  if (turn["due"] === true) return unready;
  const when = t("app.switch.not_full", { side: sideName(station, fed), when: dueWords(ahead.due) });
  return [when, spanWords(ahead), ...unready].filter(Boolean);
}
