/** How recording is laid out: what lies nearest to the thumb, and how far a press of a dial goes. */

/** The records in reach without opening 'more', by kind of station. */
export const NEAR: Readonly<Record<string, readonly string[]>> = {
  bed: ["feed", "reading", "leftover"],
  bin: ["feed", "self_harvest", "reading"],
  pond: ["feed", "reading", "catch"],
  hive: ["hive_check", "signs", "hive_harvest"],
};

/** The record by which a job is done. */
export const DONE_BY: Readonly<Record<string, string>> = {
  feed: "feed",
  take_temperature: "reading",
  lay_bedding: "feed",
  count_scoops: "side_count",
  switch_sides: "switch",
  harvest_castings: "castings",
  scrape_in_passes: "castings",
  count_larvae: "self_harvest",
  weigh_fifty: "self_harvest",
  look_at_leftovers: "leftover",
  clear_out: "clear_out",
  hold_prepupae: "given",
  feed_fish: "feed",
  catch_fish: "catch",
  see_to_held: "catch",
  test_water: "water_test",
  weigh_sample: "fish_sample",
  box_below: "hive_box",
  weigh_hive: "hive_check",
};

/** What a job says already of the record that ends it. */
export const SAID_BY: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  hold_prepupae: { what: "larvae", to: "kept" },
};

/** Where it is noted, what a plan asks to be told. */
export const LOGGED_BY: Readonly<Record<string, string>> = {
  temperature: "reading",
  squeeze: "reading",
  depth: "reading",
  leftover: "leftover",
  side_count: "side_count",
  castings: "castings",
  counts: "self_harvest",
  counts_for_one_larval_time: "self_harvest",
};

/** The fields shown at once; the others wait under 'more to note'. A kind not named shows all. */
export const FIRST: Readonly<Record<string, Readonly<Record<string, readonly string[]>>>> = {
  reading: {
    bed: ["temperature", "squeeze"],
    bin: ["temperature", "air_temperature"],
    pond: ["temperature", "ph"],
    hive: ["air_temperature"],
  },
  self_harvest: { bin: ["count", "amount"] },
  catch: { pond: ["species", "number", "mass", "fate"] },
  bath: { pond: ["volume", "stock", "then", "syringe"] },
  preserve: { pond: ["method", "mass", "inside", "minutes", "kept_at"] },
  hive_check: { hive: ["hefting", "weight"] },
  hive_harvest: { hive: ["amount", "water_pct"] },
};

/** Signs that belong to a kind of station; those of no list belong to all. */
export const SIGNS: Readonly<Record<string, readonly string[]>> = {
  bed: [
    "worms_leaving",
    "dead_worms",
    "rotten_smell",
    "ammonia_smell",
    "sour_smell",
    "fruit_flies",
    "mites",
    "pot_worms",
    "ants",
    "mould",
    "vermin",
  ],
  bin: [
    "dark_larvae_leaving",
    "pale_larvae_leaving",
    "dead_larvae",
    "rotten_smell",
    "ammonia_smell",
    "sour_smell",
    "crusted",
    "adult_flies",
    "house_flies",
    "fruit_flies",
    "ants",
    "mould",
    "vermin",
  ],
  pond: ["fish_gasping", "green_water", "dead_fish", "rotten_smell"],
  hive: [
    "few_bees",
    "many_dead_bees",
    "brood_odd",
    "sunken_cappings",
    "ropy_brood",
    "foul_brood_smell",
    "chalky_brood",
    "crippled_wings",
    "small_beetles",
    "robbing",
    "ants",
    "vermin",
    "mites",
    "mould",
  ],
};

/** A small and a large press of a dial, by unit; other units go by ones and tens. */
const STEPS: Readonly<Record<string, readonly [number, number]>> = {
  degC: [0.5, 5],
  degF: [1, 10],
  kg: [0.1, 1],
  g: [10, 100],
  lb: [0.25, 1],
  oz: [1, 8],
  L: [0.5, 5],
  mL: [50, 500],
  gallon: [0.25, 1],
  m: [0.01, 0.1],
  cm: [1, 10],
  inch: [0.5, 5],
  hour: [1, 6],
  "m^2": [0.1, 1],
  "mg/L": [1, 10],
  oxygen_mg_per_l: [0.1, 1],
  ammonia_mg_per_l: [0.05, 0.5],
  salt_pct: [0.1, 1],
  ph: [0.1, 1],
  scoop: [0.05, 0.5],
  side_depth: [0.05, 0.5],
  bin_depth: [0.05, 0.5],
  area: [1, 10],
  side_area: [0.1, 1],
  bin_area: [0.1, 1],
  pond_volume: [500, 5000],
  boxes: [1, 2],
  fifty_mass: [0.5, 5],
  moisture_pct: [1, 10],
  nitrogen_pct_dry: [0.1, 1],
  bulk_density_kg_per_l: [0.05, 0.5],
  sample_wet: [1, 10],
  sample_dry: [1, 10],
  sample_dish: [1, 10],
  syringe: [1, 10],
  water_pct: [0.1, 1],
  order: [1, 5],
};
/** The unit in which a field's own steps are meant; '' where it is a bare number. */
const OWN_UNIT: Readonly<Record<string, string>> = {
  scoop: "L",
  side_depth: "m",
  bin_depth: "m",
  area: "m^2",
  side_area: "m^2",
  bin_area: "m^2",
  pond_volume: "L",
  boxes: "",
  fifty_mass: "g",
  moisture_pct: "",
  nitrogen_pct_dry: "",
  bulk_density_kg_per_l: "",
  sample_wet: "g",
  sample_dry: "g",
  sample_dish: "g",
  syringe: "mL",
  water_pct: "",
  order: "",
  oxygen_mg_per_l: "",
  ammonia_mg_per_l: "",
  salt_pct: "",
  ph: "",
};

/** A field's own steps, or those of its bounds, in the unit they are meant in; else those of the unit. */
export function stepsOf(field: string, unit: string, bounds = ""): readonly [number, number] {
  const own = [field, bounds].find((name) => OWN_UNIT[name] === unit);
  return STEPS[own ?? (isHour(field) ? "hour" : unit)] ?? [1, 10];
}

/** Whether a field holds an hour of the day. */
export const isHour = (field: string): boolean => field.endsWith("_hour");

/** Counts that are often none, and noted all the same: that none climbed out is news. */
export const OFTEN_NONE: ReadonlySet<string> = new Set(["count"]);

/** The unit in which somebody measures this, until they choose another. */
export const FIRST_UNIT: Readonly<Record<string, string>> = {
  sample_wet: "g",
  sample_dry: "g",
  sample_dish: "g",
  syringe: "mL",
  fifty_mass: "g",
  depth: "cm",
};

/** Units offered for a measure, the first one first; a person's own last choice comes before it. */
export const OFFERED: readonly string[] = [
  "kg",
  "g",
  "lb",
  "oz",
  "L",
  "mL",
  "gallon",
  "m",
  "cm",
  "inch",
  "m^2",
  "degC",
  "degF",
  "mg/L",
];

export const PARTS_OF_A_CONTAINER: readonly number[] = [0.25, 0.5, 0.75, 1, 1.5, 2, 3, 4];

/** The parts offered where one press saves. */
export const QUICK_PARTS: readonly number[] = [0.25, 0.5, 0.75, 1];

export const FRACTION_SIGNS: Readonly<Record<number, string>> = { 0.25: "¼", 0.5: "½", 0.75: "¾", 1.5: "1½" };

/** What stays the same from one time to the next, so that the last value stands there already. */
export const KEPT: Readonly<Record<string, readonly string[]>> = { side_count: ["scoop"] };

/** Ways of saying the same thing, of which one at a time is shown; the one last used comes first. */
export const EITHER: Readonly<Record<string, readonly string[]>> = {
  self_harvest: ["count", "amount"],
  hive_check: ["hefting", "weight"],
};
