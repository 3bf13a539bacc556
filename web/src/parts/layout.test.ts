import { expect, test } from "vitest";
import { stepsOf } from "./layout";

test("a press goes as far as the thing is large: a pond isn't filled by the half litre", () => {
  expect(stepsOf("volume", "L", "pond_volume")).toEqual([500, 5000]);
  expect(stepsOf("volume", "L", "container_volume")).toEqual([0.5, 5]);
  expect(stepsOf("area", "m^2", "area")).toEqual([1, 10]);
  expect(stepsOf("side_area", "m^2", "area")).toEqual([0.1, 1]);
  expect(stepsOf("boxes", "")).toEqual([1, 2]);
  expect(stepsOf("fifty_mass", "g")).toEqual([0.5, 5]);
});

test("where another unit is chosen, or nothing is known of a field, the unit's steps stand", () => {
  expect(stepsOf("volume", "mL", "pond_volume")).toEqual([50, 500]);
  expect(stepsOf("quiet_from_hour", "")).toEqual([1, 6]);
  expect(stepsOf("number", "")).toEqual([1, 10]);
});
