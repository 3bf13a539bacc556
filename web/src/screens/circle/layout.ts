import type { CircleArrow } from "../../generated/shapes";

/** Where the places of the circle stand in the drawing, and how what moves between them is drawn. */
type Point = readonly [number, number];

export const WIDE = 360;
export const HIGH = 430;
/** Half the size of a stone. */
export const STONE = 27;

/** Seven on a ring, what waits in hand in its middle, what lies outside at the corners. */
export const PLACES: Readonly<Record<string, Point>> = {
  kitchen: [180, 44],
  bin: [294, 104],
  pond: [316, 226],
  table: [240, 324],
  hive: [120, 324],
  garden: [44, 226],
  bed: [66, 104],
  hand: [180, 196],
  brought: [44, 386],
  elsewhere: [316, 386],
  air: [324, 28],
};

export const MEASURES = ["wet_kg", "nitrogen_kg", "protein_kg"] as const;
export type Measure = (typeof MEASURES)[number];

/** Less than this of the largest is left out of the drawing; the list has it. */
const SLIGHT = 0.004;
const THIN = 2;
const THICK = 13;
/** How far an arrow swings out, so that two between the same places lie apart. */
const SWING = 0.14;
/** So near the middle an arrow that ends elsewhere is led round it, by so much. */
const NEAR = 62;
const ROUND = 96;
const HEAD = 7;

export type Drawn = {
  readonly arrow: CircleArrow;
  readonly path: string;
  readonly head: string;
  readonly width: number;
};

export const amountOf = (arrow: CircleArrow, measure: Measure): number => arrow[measure] ?? 0;

/** The arrows of a measure, widest first, so that a thin one is never hidden under a wide one. */
export function drawn(arrows: readonly CircleArrow[], measure: Measure): Drawn[] {
  const most = Math.max(...arrows.map((arrow) => amountOf(arrow, measure)), Number.MIN_VALUE);
  return arrows
    .filter((arrow) => amountOf(arrow, measure) > SLIGHT * most)
    .flatMap((arrow) => {
      const from = PLACES[arrow.source];
      const until = PLACES[arrow.target];
      if (from === undefined || until === undefined) return [];
      const width = THIN + (THICK - THIN) * Math.sqrt(amountOf(arrow, measure) / most);
      return [{ arrow, width, ...curve(from, until, width) }];
    })
    .sort((one, other) => other.width - one.width);
}

function curve([x0, y0]: Point, [x1, y1]: Point, width: number) {
  const [dx, dy] = [x1 - x0, y1 - y0];
  const length = Math.hypot(dx, dy);
  const [bx, by] = roundMiddle([x0 + dx / 2, y0 + dy / 2], [x0, y0], [x1, y1]) ?? [
    x0 + dx / 2 - dy * SWING,
    y0 + dy / 2 + dx * SWING,
  ];
  const start = toward([x0, y0], [bx, by], STONE + 2);
  const tip = toward([x1, y1], [bx, by], STONE + 3);
  const size = HEAD + width / 2;
  const neck = toward(tip, [bx, by], Math.min(size, length / 4));
  const [nx, ny] = [(neck[1] - tip[1]) / size, (tip[0] - neck[0]) / size];
  const side = (sign: number) => `${round(neck[0] + sign * nx * size)} ${round(neck[1] + sign * ny * size)}`;
  return {
    path: `M${spot(start)}Q${spot([bx, by])} ${spot(neck)}`,
    head: `M${spot(tip)}L${side(0.8)}L${side(-0.8)}Z`,
  };
}

/** Where an arrow bends that would run under the stone in the middle; null if it doesn't. */
function roundMiddle(half: Point, from: Point, until: Point): Point | null {
  const middle = PLACES["hand"] ?? half;
  const away = Math.hypot(half[0] - middle[0], half[1] - middle[1]);
  const ends = [from, until].some((one) => one[0] === middle[0] && one[1] === middle[1]);
  return ends || away > NEAR ? null : toward(half, middle, -ROUND);
}

function toward([x, y]: Point, [tx, ty]: Point, by: number): Point {
  const length = Math.hypot(tx - x, ty - y) || 1;
  return [x + ((tx - x) * by) / length, y + ((ty - y) * by) / length];
}

const round = (value: number): number => Math.round(value * 10) / 10;
const spot = ([x, y]: Point): string => `${round(x)} ${round(y)}`;
