import type { ShoalState } from "../generated/watershapes";
import type { Station } from "./holding";
import type { Journal } from "./journal";
import { text } from "./place";

/** The kinds of fish known at a pond, by the names they go by there: those in the plan first. */
export function species(station: Station, journal: Journal): readonly string[] {
  const shoals = (station.plan?.state["shoals"] ?? []) as readonly ShoalState[];
  const noted = journal.entries.value
    .filter((entry) => entry.station === station.id)
    .map((entry) => entry["species"]);
  const all = [...shoals.map((one) => one.species), text(station.item, "fish_species"), ...noted];
  return [...new Set(all.filter((one) => typeof one === "string" && one !== ""))] as string[];
}
