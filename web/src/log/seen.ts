import type { StationPlan } from "../generated/shapes";
import type { Entry } from "./entry";

/** When somebody was last at a station, and who. */
export type Seen = { readonly at: string; readonly by?: string | null | undefined };

/** Dated by a clock that is fast, or for a day to come: it counts from then on, in the plan as here. */
export const liesAhead = (entry: { readonly at: string }, now = new Date()): boolean =>
  Date.parse(entry.at) > now.getTime();

/**
 * The later of what the phone's own log and the plan tell: while the log is being fetched for the first time, its
 * newest entry so far may be a year old.
 */
export function lastSeen(
  entries: readonly Entry[],
  station: { readonly id: string; readonly plan: StationPlan | undefined },
  now = new Date(),
): Seen | null {
  const here = entries.find(
    (entry) => (entry.station === station.id || passedOn(entry, station.id)) && !liesAhead(entry, now),
  );
  const planned = station.plan?.last_seen ?? null;
  if (here === undefined) return planned;
  return planned !== null && Date.parse(planned.at) > Date.parse(here.at) ? planned : here;
}

/** Whoever walks past a station and finds nothing to note has seen it all the same. */
const passedOn = (entry: Entry, station: string): boolean =>
  entry.kind === "round" && Array.isArray(entry["passed"]) && entry["passed"].includes(station);
