import { readFileSync } from "node:fs";
import { expect, test } from "vitest";

const tokens = readFileSync("src/style/tokens.css", "utf-8");

/* WCAG 2.2: relative luminance and contrast ratio as defined there; 7:1 is success criterion 1.4.6
   (text, enhanced), 3:1 is 1.4.11 (edges of what can be pressed). */
const PAIRS = [...tokens.matchAll(/--([\w-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)/g)];
const SUN = [...tokens.matchAll(/--([\w-]+): (#[0-9a-f]{6});/g)];
const COLOURS: Readonly<Record<string, ReadonlyMap<string, string>>> = {
  light: new Map(PAIRS.map(([, name, light]) => [String(name), String(light)])),
  dark: new Map(PAIRS.map(([, name, , dark]) => [String(name), String(dark)])),
  sun: new Map(SUN.map(([, name, colour]) => [String(name), String(colour)])),
};

function luminance(hex: string): number {
  const [red, green, blue] = [1, 3, 5].map((at) => {
    const channel = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return channel <= 0.04045 ? channel / 12.92 : ((channel + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(one: string, other: string): number {
  const [high, low] = [luminance(one), luminance(other)].sort((a, b) => b - a) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

const TEXT: readonly (readonly [string, string])[] = [
  ...["paper", "sheet", "hollow", "moss-wash", "clay-wash", "straw-wash", "water-wash"].map(
    (ground) => ["ink", ground] as const,
  ),
  ...["paper", "sheet", "hollow"].map((ground) => ["ink-soft", ground] as const),
  ["on-stone", "stone"],
  ["on-stone-here", "stone-hollow"],
  ["on-stone-soft", "stone"],
  ["on-moss", "moss"],
  ["on-clay", "clay"],
  ["clay", "paper"],
  ["clay", "hollow"],
  ["clay", "clay-wash"],
  ["water", "paper"],
  ["water", "clay-wash"],
  ["water", "water-wash"],
  ["paper", "ink"],
];
const EDGES = ["paper", "sheet", "hollow"].map((ground) => ["edge", ground] as const);

test.each(["light", "dark", "sun"])("in %s every text reaches 7:1 and every edge 3:1", (theme) => {
  const of = (name: string) => COLOURS[theme]?.get(name) ?? "#808080";
  const measured = (pairs: readonly (readonly [string, string])[]) =>
    pairs.map(([text, ground]) => [`${text} on ${ground}`, contrast(of(text), of(ground))] as const);
  expect(measured(TEXT).filter(([, ratio]) => ratio < 7)).toEqual([]);
  expect(measured(EDGES).filter(([, ratio]) => ratio < 3)).toEqual([]);
});

/* Contrast at the eye with light mirrored by the glass, (Lw + r) / (Lb + r) with r = E R / pi: Kelley and
   others 2006, J. SID 14:1019. Screen and light are assumed, common practice, no source: 500 cd/m2, black
   0.5 cd/m2, reflectance 4.5 %, shade of an open sky at 20 000 lx. */
test("in the sun mode ink keeps more of its contrast at the eye than by day", () => {
  const mirrored = (20_000 * 0.045) / Math.PI;
  const seen = (theme: string, text: string) => {
    const light = (name: string) =>
      0.5 + 499.5 * luminance(COLOURS[theme]?.get(name) ?? "#808080") + mirrored;
    return light("paper") / light(text);
  };
  for (const text of ["ink", "ink-soft", "clay", "water"]) {
    expect(seen("sun", text)).toBeGreaterThan(seen("light", text));
    expect(seen("sun", text)).toBeGreaterThan(2.5);
  }
});

test("no colour is left out of the sun mode", () => {
  expect([...(COLOURS["sun"]?.keys() ?? [])].sort()).toEqual([...(COLOURS["light"]?.keys() ?? [])].sort());
});

test("black on white is 21:1, as WCAG says, and #767676 on white just 4.5:1", () => {
  expect(contrast("#000000", "#ffffff")).toBeCloseTo(21, 5);
  expect(contrast("#767676", "#ffffff")).toBeCloseTo(4.54, 2);
});
