import type { Limit } from "../generated/shapes";
import { isQuantity } from "./entry";
import { toSi } from "./units";

/** A limit a new value crosses, with the value in the limit's unit. */
export type Crossed = { readonly limit: Limit; readonly value: number };

const RANK = { danger: 0, caution: 1, note: 2 } as const;

/**
 * Hold an entry, saved or still being typed, against the thresholds that came with the last plan.
 * They are data: this works however old the plan is, and with nobody to ask. Of several limits on one
 * field only the gravest is told.
 */
export function crossed(entry: Readonly<Record<string, unknown>>, limits: readonly Limit[]): Crossed[] {
  return limits
    .filter((limit) => limit.station === entry["station"])
    .filter((limit) => limit.side === null || !entry["side"] || limit.side === entry["side"])
    .flatMap((limit) => {
      const value = measured(entry[limit.field], limit.unit);
      return value !== null && beyond(value, limit) ? [{ limit, value }] : [];
    })
    .sort((one, other) => RANK[one.limit.level] - RANK[other.limit.level])
    .filter(({ limit }, index, all) => all.findIndex((one) => one.limit.field === limit.field) === index);
}

function measured(value: unknown, unit: string): number | null {
  if (typeof value === "number") return value;
  if (!isQuantity(value)) return null;
  const si = toSi(value.value, value.unit);
  return si?.unit === unit ? si.value : null;
}

function beyond(value: number, limit: Limit): boolean {
  return (limit.above !== null && value > limit.above) || (limit.below !== null && value < limit.below);
}
