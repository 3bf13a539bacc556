import { expect, test } from "vitest";
import { nearby } from "./nearby";

test("a thermometer goes by whole degrees round the last reading, below zero too", () => {
  expect(nearby(19, "degC", 0.5)).toEqual([17, 18, 19, 20, 21]);
  expect(nearby(19.5, "degC", 0.5)).toEqual([18, 19, 19.5, 20, 21]);
  expect(nearby(0, "degC", 0.5)).toEqual([-2, -1, 0, 1, 2]);
  expect(nearby(66, "degF", 1)).toEqual([62, 64, 66, 68, 70]);
});

test("a count or a weight has round neighbours, about a tenth apart, and none below nothing", () => {
  expect(nearby(449, "", 1)).toEqual([420, 440, 449, 460, 480]);
  expect(nearby(3, "", 1)).toEqual([1, 2, 3, 4, 5]);
  expect(nearby(0, "kg", 0.1)).toEqual([0, 0.1, 0.2]);
  expect(nearby(0.47, "kg", 0.1)).toEqual([0.3, 0.4, 0.47, 0.5, 0.6]);
});
