import type { Matter } from "../generated/shapes";
import type { Station } from "../log/holding";
import { DONE_BY } from "../parts/layout";
import { becauseWords, sideName } from "./planned";
import { has, say } from "./words";

/** A matter in words: what to do, or for a limit what was seen. */
export function matterWords(station: Station, one: Matter): string {
  if (one.kind === "limit") return becauseWords(station, one.because, one.side);
  const job = [`app.job.${one.what}`, `job.${one.what}`, `${station.type}.job.${one.what}`];
  const ahead = [`app.ahead.${one.what}`];
  const keys = one.kind === "routine" && job.some(has) ? job : [...ahead, ...job, "app.job.other"];
  const side = sideName(station, one.side);
  return say(keys, { ...one.because.values, side, station: station.name, what: one.what });
}

/** The record by which a matter is done; none where any look at the station will do. */
export function doneBy(one: Matter): string | undefined {
  if (one.kind === "limit") return "reading";
  return one.what === "self_harvest" ? "self_harvest" : DONE_BY[one.what];
}
