import { expect, test } from "vitest";
import { seeded } from "../testing/seeded";
import { byEye, rounded } from "./rounded";

test("a figure keeps the digits its range leaves a meaning to", () => {
  expect(rounded(5822, 3900, 8100)).toBe(6000);
  expect(rounded(1.87, 1.53, 2.18)).toBe(1.9);
  expect(rounded(0.066, 0.03, 0.12)).toBe(0.07);
  expect(rounded(29.4, 26.3, 32.5)).toBe(29);
  expect(rounded(9.55, 8.53, 10.7)).toBe(9.6);
  expect([0.004, 0.4].map((end) => rounded(end, 0.004, 0.4))).toEqual([0, 0.4]);
});

test("what is more than nought is not told as nought, however wide its range", () => {
  expect(rounded(0.04, 0, 0.4)).toBe(0.04);
  expect(rounded(0.031, 0, 0.4)).toBe(0.03);
});

test("what has no range is told as it is", () => {
  expect(rounded(5822, 5822, 5822)).toBe(5822);
  expect(rounded(0.066, 0.066, 0.066)).toBe(0.066);
});

test("no figure and no end of a range moves by more than a sixth of the range", () => {
  const random = seeded(7);
  for (let at = 0; at < 2000; at += 1) {
    const low = (random.below(1000) - 300) * 10 ** (random.below(8) - 5);
    const high = low + random.below(1000) * 10 ** (random.below(8) - 5);
    const most = ((high - low) / 6) * (1 + 1e-9) + 1e-12 * Math.abs(high);
    for (const one of [low, (low + high) / 2, high]) {
      expect(Math.abs(rounded(one, low, high) - one)).toBeLessThanOrEqual(most);
    }
  }
});

test("what was filled by eye is told to two digits", () => {
  expect([1.14, 2.275, 4.55, 0.0416, 12].map(byEye)).toEqual([1.1, 2.3, 4.5, 0.042, 12]);
});
