import { describe, expect, test } from "vitest";
import type { CircleArrow } from "../../generated/shapes";
import { drawn, HIGH, PLACES, WIDE } from "./layout";

const arrow = (source: string, target: string, wet_kg: number): CircleArrow => ({
  source,
  target,
  wet_kg,
  dry_kg: 0,
  nitrogen_kg: 0,
  protein_kg: null,
  count: 1,
  because: { key: "", values: {}, entries: [], constants: [] },
});
const names = Object.keys(PLACES);
const all = names.flatMap((source) =>
  names.filter((one) => one !== source).map((target) => arrow(source, target, 1)),
);

describe("the circle's drawing", () => {
  test("draws an arrow between any two places, inside the picture", () => {
    const found = drawn(all, "wet_kg");
    expect(found).toHaveLength(all.length);
    for (const { path, head } of found) {
      const numbers = `${path} ${head}`.match(/-?\d+(\.\d+)?/g)?.map(Number) ?? [];
      expect(numbers.length).toBe(12);
      expect(numbers.every((one) => one > -40 && one < Math.max(WIDE, HIGH) + 40)).toBe(true);
    }
  });

  test("draws what is more wider and first, and leaves out what is next to nothing", () => {
    const found = drawn(
      [arrow("bed", "hand", 1), arrow("kitchen", "bed", 100), arrow("bin", "hand", 0.1)],
      "wet_kg",
    );
    expect(found.map((one) => one.arrow.source)).toEqual(["kitchen", "bed"]);
    expect(found[0]?.width).toBeGreaterThan(found[1]?.width ?? 0);
  });

  test("leads an arrow round the stone in the middle", () => {
    const [x, y] = PLACES["hand"] as readonly [number, number];
    const [one] = drawn([arrow("kitchen", "table", 1)], "wet_kg");
    const [, x0, y0, bx, by, x1, y1] = (one?.path.match(/M(\S+) (\S+)Q(\S+) (\S+) (\S+) (\S+)/) ?? []).map(
      Number,
    ) as [number, number, number, number, number, number, number];
    const half = [(x0 + 2 * bx + x1) / 4, (y0 + 2 * by + y1) / 4] as const;
    expect(Math.hypot(half[0] - x, half[1] - y)).toBeGreaterThan(45);
  });
});
