import type { ShoalState, StackBox } from "../generated/watershapes";
import type { Station } from "./holding";
import type { Journal } from "./journal";
import { text } from "./place";

/** The kinds of fish known at a pond, by the names they go by there: those in the plan first. */
export function species(station: Station, journal: Pick<Journal, "entries">): readonly string[] {
  const shoals = (station.plan?.state["shoals"] ?? []) as readonly ShoalState[];
  const noted = journal.entries.value
    .filter((entry) => entry.station === station.id)
    .map((entry) => entry["species"]);
  const all = [...shoals.map((one) => one.species), text(station.item, "fish_species"), ...noted];
  return [...new Set(all.filter((one) => typeof one === "string" && one !== ""))] as string[];
}

/** A name the core made up of an entry's number is longer than any a person writes on a box. */
export const MADE_UP = 24;

/** The boxes that stand in a hive's stack and have a name, from above. */
export function boxes(station: Station): readonly string[] {
  const stack = (station.plan?.state["stack"] ?? []) as readonly StackBox[];
  return stack.map((one) => one.box).filter((name) => name.length <= MADE_UP);
}
