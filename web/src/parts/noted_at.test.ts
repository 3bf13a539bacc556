import { expect, test } from "vitest";
import { notedAt } from "./noted_at";

const bed = { id: "trough", type: "bed" };

test("a job leads to the record that ends it, and says for which side", () => {
  const job = { what: "count_scoops", side: "b" };
  expect(notedAt(bed, "side_count", job)).toBe("#/station/trough/record/side_count/count_scoops/b");
  expect(notedAt(bed, "reading", { what: "take_temperature", side: null })).toBe(
    "#/station/trough/record/reading/take_temperature",
  );
});

test("what no record ends, or none that the station takes, leads nowhere", () => {
  expect(notedAt(bed, undefined, { what: "look_in", side: null })).toBeNull();
  expect(notedAt(bed, "self_harvest", { what: "count_larvae", side: null })).toBeNull();
});
