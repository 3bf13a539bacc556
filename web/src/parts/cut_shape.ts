import { isObject, isQuantity } from "../log/entry";
import type { Station } from "../log/holding";
import { toSi } from "../log/units";

/** How one side of a bed is drawn: nothing here is a figure, it only says more or less. */
export type SideCut = {
  readonly side: string;
  readonly fed: boolean;
  /** Where in its cycle it stands, as the plan has it; empty if the plan is behind what was noted. */
  readonly phase: string;
  /** Share of the side's depth that is filled; 0: it is bare. */
  readonly full: number;
  /** Height of the surface in the drawing. */
  readonly top: number;
  /** How many of the drawn worms are shown. */
  readonly worms: number;
};

const FLOOR = 88;
const RIM = 24;
/** Drawn when nothing is known of the depth, and the least that still shows. */
const UNKNOWN = 0.6;
const LEAST = 0.3;

export const WORMS: readonly string[] = [
  "M60 82c5-5 9 4 13-1",
  "M94 81c5-6 9 5 14-1s7 3 10-1",
  "M28 80c5-6 9 5 14-1s8 3 11-2",
  "M76 75c5-5 9 4 13-1",
  "M112 74c5-5 9 4 13-1",
  "M44 74c5-5 9 4 13-1",
];

const top = (full: number): number => FLOOR - full * (FLOOR - RIM);
/** The inner wall leans: how far in from the rim at a height. */
const inset = (y: number): number => 2 + ((y - 18) / 70) * 12;

export function earthPath(full: number): string {
  const y = top(full);
  const left = inset(y);
  return `M${left} ${y}C${left + 40} ${y - 4} ${110} ${y + 4} ${158 - left} ${y}L144 ${FLOOR}H14Z`;
}

export function layerPath(full: number): string {
  const y = top(full);
  const gap = (FLOOR - y) / 3;
  return [1, 2].map((n) => `M${inset(y + gap * n) + 5} ${y + gap * n}H${153 - inset(y + gap * n)}`).join("");
}

export function sideCuts(station: Station, feeding: string): SideCut[] {
  const sides = station.plan?.state["sides"];
  const deep = station.item?.fields["side_depth"];
  const depthM = isQuantity(deep) ? (toSi(deep.value, deep.unit)?.value ?? null) : null;
  const worms = ["a", "b"].map((side) => figure(sides, side, "worms") ?? 0);
  const most = Math.max(...worms, Number.MIN_VALUE);
  return ["a", "b"].map((side, index) => {
    const filledM = figure(sides, side, "depth");
    const share = depthM !== null && filledM !== null ? filledM / depthM : UNKNOWN;
    const full = bare(sides, side) ? 0 : Math.min(1, Math.max(LEAST, share));
    const crowd = ((worms[index] ?? 0) / most) * WORMS.length;
    const low = Math.round(crowd);
    return {
      side,
      fed: side === feeding,
      phase: station.plan?.state["feeding_side"] === feeding ? phase(sides, side) : "",
      full,
      top: top(full),
      worms: full === 0 ? 0 : sides ? low : 2,
    };
  });
}

function figure(sides: unknown, side: string, name: string): number | null {
  const one = of(sides, side)[name];
  return isObject(one) && typeof one["value"] === "number" ? one["value"] : null;
}

const of = (sides: unknown, side: string): Readonly<Record<string, unknown>> =>
  isObject(sides) && isObject(sides[side]) ? sides[side] : {};

const bare = (sides: unknown, side: string): boolean => of(sides, side)["holds_kg"] === 0;

const phase = (sides: unknown, side: string): string => String(of(sides, side)["phase"] ?? "");
