/** The few questions of the first set-up; everything else can wait for the page of the station. */
export const BEGIN_FIELDS: Readonly<Record<string, readonly string[]>> = {
  bed: ["name", "side_a_name", "side_b_name", "side_area", "side_depth", "start_worms", "feeding_side"],
  bin: ["name", "bin_area", "bin_depth"],
  pond: ["name", "area", "volume"],
  hive: ["name", "boxes"],
};
