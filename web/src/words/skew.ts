import { t } from "./words";

const UNITS = [
  ["days", 86_400],
  ["hours", 3_600],
  ["minutes", 60],
] as const;

/** How far a clock is off, in the largest unit of which it is at least two; minutes are the smallest. */
function inUnits(skewS: number) {
  const [unit, size] = UNITS.find(([, one]) => Math.abs(skewS) >= 2 * one) ?? ["minutes", 60];
  return { unit, count: Math.round(Math.abs(skewS) / size), way: skewS > 0 ? "behind" : "ahead" };
}

/** Of another's phone, or of this one. `skewS` is the service's clock minus the phone's. [s] */
export const skewWords = (whose: "access.phones.skew" | "app.sync.skew", skewS: number): string =>
  t(whose, inUnits(skewS));

/** Off by so much that days are mistaken: whoever holds the phone is told wherever they are. [s] */
export const GRAVE_SKEW_S = 7_200;
