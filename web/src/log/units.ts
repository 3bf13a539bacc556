import { knowledge } from "./knowledge";

/*
 * The service's table of units: value in the unit the models use = (value − offset) · n / d. Of each
 * kind of measure the unit with factor 1 and no offset that comes first is the one the models use.
 */
const SI = new Map<string, string>();
for (const [unit, rule] of Object.entries(knowledge.units)) {
  const [up, down] = rule.factor;
  if (up === down && rule.offset === 0 && !SI.has(rule.kind)) SI.set(rule.kind, unit);
}

/** A measure in the unit the models reckon in; null if the unit isn't known. */
export function toSi(value: number, unit: string): { value: number; unit: string } | null {
  const rule = knowledge.units[unit];
  const si = rule && SI.get(rule.kind);
  if (rule === undefined || si === undefined) return null;
  return { value: ((value - rule.offset) * rule.factor[0]) / rule.factor[1], unit: si };
}

/** The other way: a value of the models in a unit of the same kind. */
export function fromSi(value: number, unit: string): number {
  const rule = knowledge.units[unit];
  return rule ? (value * rule.factor[1]) / rule.factor[0] + rule.offset : value;
}

/** What to show for a unit: `°C` for `degC`. */
export function symbol(unit: string): string {
  return knowledge.units[unit]?.symbol ?? unit;
}

/** Units of the same kinds as these, in the order of the table. */
export function unitsOf(siUnits: readonly string[]): string[] {
  return Object.entries(knowledge.units)
    .filter(([, rule]) => siUnits.includes(SI.get(rule.kind) ?? ""))
    .map(([unit]) => unit);
}
