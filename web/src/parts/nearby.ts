/** Values to press next to the one a dial starts from: round ones, two below and two above. */

/** So far apart stand the values of a thermometer and of a clock; anything else stands a tenth of itself apart. */
const APART: Readonly<Record<string, number>> = { degC: 1, degF: 2, hour: 1 };
const SHARE = 0.1;
const TENS = 10;
/** Ends of round numbers: 1, 2, 5, 10, 20, 50, … */
const ROUND = [1, 2, 5, TENS] as const;
const EACH_WAY = 2;

/**
 * @param from where the dial starts; it stays as it is, in the middle
 * @param least the smallest step that makes sense here
 */
export function nearby(from: number, unit: string, least: number): number[] {
  const apart = APART[unit] ?? Math.max(least, roundest(Math.abs(from) * SHARE));
  const place = from / apart;
  // The dust of floating point must not make the start its own neighbour.
  const whole = Math.abs(place - Math.round(place)) < 1e-6;
  const below = whole ? Math.round(place) - 1 : Math.floor(place);
  const above = whole ? Math.round(place) + 1 : Math.ceil(place);
  const steps = (first: number, way: number) =>
    Array.from({ length: EACH_WAY }, (_, index) => dusted((first + way * index) * apart));
  const low = steps(below, -1).reverse();
  const signed = apart === APART[unit];
  return [...low.filter((one) => signed || one >= 0), from, ...steps(above, 1)];
}

/** The round number closest below or at a value. */
function roundest(value: number): number {
  if (!(value > 0)) return 0;
  const ten = TENS ** Math.floor(Math.log10(value));
  return (ROUND.filter((one) => one * ten <= value).at(-1) ?? 1) * ten;
}

const dusted = (value: number): number => Math.round(value * 1e4) / 1e4;
