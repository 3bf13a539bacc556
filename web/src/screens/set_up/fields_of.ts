import { knowledge } from "../../log/knowledge";

/** The fields of a station that belong to its type; a station of a newer type shows them all. */
const OF_TYPE: Readonly<Record<string, readonly string[]>> = {
  bed: ["side_a_name", "side_b_name", "side_area", "side_depth", "start_worms", "feeding_side"],
  bin: ["bin_area", "bin_depth"],
  pond: ["area", "volume", "fish_species", "fish_number", "fish_stock"],
  hive: ["boxes", "box_mass", "bare_mass"],
};
const OF_ALL = ["type", "name", "order", "started", "retired"];
/** Figures that are not set by hand on a phone: a table of twelve, or a reference page's matter. */
const NOT_BY_HAND = new Set(["air_by_month_c"]);

export function fieldsOf(what: string, type: string): ReadonlySet<string> {
  const all = Object.keys(knowledge.setup[what] ?? {}).filter((name) => !NOT_BY_HAND.has(name));
  if (what !== "station" || !(type in OF_TYPE)) {
    return new Set(what === "station" ? ["type"] : all);
  }
  return new Set([...OF_ALL, ...(OF_TYPE[type] ?? [])]);
}
