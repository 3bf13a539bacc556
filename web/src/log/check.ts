import { isObject, isQuantity } from "./entry";
import { type Bound, boundsOf, type FieldRule, type KindRule, knowledge, stationTypes } from "./knowledge";
import { toSi } from "./units";

/** What the place has set up, as far as an entry may point to it. */
export type Known = {
  readonly stations: ReadonlyMap<string, string>;
  readonly containers: ReadonlySet<string>;
  readonly feedstocks: ReadonlySet<string>;
  /** Feedstocks whose volume can be turned into a mass. */
  readonly densities: ReadonlySet<string>;
  /** Containers that were weighed full: what fills them needs no density. */
  readonly weighed: ReadonlySet<string>;
  /** Containers of which nobody has said what they hold. */
  readonly unmeasured: ReadonlySet<string>;
};

/** Something to mend before an entry can be saved, or (`ask`) to look at once more. */
export type Finding = {
  readonly code: string;
  readonly field: string;
  readonly ask: boolean;
  readonly values: Readonly<Record<string, string | number>>;
};

type Judge = (name: string, value: unknown, rule: FieldRule, known: Known) => Finding | null;

const NAME = /^[0-9A-Za-z][0-9A-Za-z_.:-]{0,63}$/;
const TIME =
  /^\d{4}-\d\d-\d\dT([01]\d|2[0-3]):[0-5]\d(:[0-5]\d(\.\d{1,6})?)?(Z|[+-]([01]\d|2[0-3]):[0-5]\d)$/;
const DAY = /^\d{4}-\d\d-\d\d$/;

const wrong = (code: string, field: string, values: Finding["values"] = {}): Finding => ({
  code,
  field,
  ask: false,
  values,
});

/**
 * Judge an entry as the service will, by walking its description; what must be mended comes before
 * what is only unusual.
 */
export function check(raw: Readonly<Record<string, unknown>>, known: Known): Finding | null {
  const kind = knowledge.kinds[String(raw["kind"])];
  if (kind === undefined) return null;
  const found = fields(raw, kind.fields, known);
  const sure = found?.ask ? null : found;
  return (
    where(raw, kind, known) ??
    sure ??
    some(raw, kind) ??
    nested(raw, known) ??
    volume(raw, kind, known) ??
    found
  );
}

function where(raw: Readonly<Record<string, unknown>>, kind: KindRule, known: Known): Finding | null {
  if (kind.stations.length === 0) return null;
  const station = String(raw["station"] ?? "");
  if (station === "") return wrong("missing", "station");
  const type = known.stations.get(station);
  if (type === undefined) return wrong("unknown_station", "station", { station });
  if (!kind.stations.includes(type) && stationTypes.includes(type)) {
    return wrong("wrong_station", "station", { station, type });
  }
  const side = raw["side"];
  if (side && side !== "a" && side !== "b") return wrong("bad_choice", "side", { side: String(side) });
  const sided = type === "bed" || (kind.stations.length === 1 && kind.stations[0] === "bed");
  return kind.side && sided && !side ? wrong("missing", "side") : null;
}

function fields(
  raw: Readonly<Record<string, unknown>>,
  rules: Readonly<Record<string, FieldRule>>,
  known: Known,
  prefix = "",
): Finding | null {
  let unusual: Finding | null = null;
  for (const [name, rule] of Object.entries(rules)) {
    const value = raw[name];
    if (value === undefined || value === null) {
      if (rule.required) return wrong("missing", prefix + name);
      continue;
    }
    const found = JUDGES[rule.type]?.(prefix + name, value, rule, known) ?? null;
    if (found !== null && !found.ask) return found;
    unusual ??= found;
  }
  return unusual;
}

function some(raw: Readonly<Record<string, unknown>>, kind: KindRule): Finding | null {
  const first = kind.some_of?.[0];
  if (first === undefined) return null;
  return kind.some_of?.some((name) => raw[name] !== undefined && raw[name] !== null)
    ? null
    : wrong("missing", first, { any_of: (kind.some_of ?? []).join(" ") });
}

/** A volume of something whose density nobody has given can't be weighed. */
function volume(raw: Readonly<Record<string, unknown>>, kind: KindRule, known: Known): Finding | null {
  const { feedstock, amount } = raw;
  if (kind.stations.length === 0 || !feedstock || known.densities.has(String(feedstock))) return null;
  if (!isObject(amount) || known.weighed.has(String(amount["container"]))) return null;
  const litres = "container" in amount || toSi(0, String(amount["unit"]))?.unit === "L";
  return litres ? wrong("no_density", "amount", { feedstock: String(feedstock) }) : null;
}

/** A sample doesn't grow heavier as it dries, nor weigh less than the dish it lies in. */
function sample(set: Readonly<Record<string, unknown>>): Finding | null {
  const [wet, dry, dish] = ["sample_wet", "sample_dry", "sample_dish"].map((name) => {
    const there = set[name];
    return isQuantity(there) ? (toSi(there.value, there.unit)?.value ?? null) : null;
  });
  if (typeof dry !== "number") return null;
  const sound = (typeof wet !== "number" || dry <= wet) && (typeof dish !== "number" || dry >= dish);
  return sound ? null : wrong("bad_sample", "set.sample_dry");
}

/** What is set up has rules of its own, and a replacement must replace something. */
function nested(raw: Readonly<Record<string, unknown>>, known: Known): Finding | null {
  if (raw["kind"] === "setup" && isObject(raw["set"])) {
    const found = fields(raw["set"], knowledge.setup[String(raw["what"])] ?? {}, known, "set.");
    const bad = raw["what"] === "feedstock" && (found === null || found.ask) ? sample(raw["set"]) : null;
    if (bad !== null) return bad;
    return found && { ...found, field: found.field.split(".", 2).join(".") };
  }
  if (raw["kind"] === "correction" && raw["action"] === "replace" && !isObject(raw["with"])) {
    return wrong("missing", "with");
  }
  return null;
}

// -- judges: one for each type of field ---------------------------------------------------------

const badType = (field: string) => wrong("bad_type", field);

function within(field: string, value: number, bound: Partial<Bound>, unit: string): Finding | null {
  const { low = -Infinity, high = Infinity, ask_low = -Infinity, ask_high = Infinity } = bound;
  const mistaken = misread(value, unit, bound);
  const values = { value, low, high, unit, ...(mistaken === null ? {} : { mistaken }) };
  if (value < low || value > high) return wrong("out_of_range", field, values);
  return value < ask_low || value > ask_high ? { code: "unusual", field, ask: true, values } : null;
}

/** What it would be, had a thermometer in the other scale been read; null if that is no likelier. */
function misread(value: number, unit: string, bound: Partial<Bound>): number | null {
  const other = unit === "degC" ? toSi(value, "degF") : null;
  if (other === null) return null;
  const low = bound.ask_low ?? bound.low ?? -Infinity;
  const high = bound.high ?? Infinity;
  return other.value >= low && other.value <= high ? other.value : null;
}

const number: Judge = (name, value, rule) =>
  typeof value === "number" && Number.isFinite(value) ? within(name, value, rule, "") : badType(name);

const integer: Judge = (name, value, rule, known) =>
  typeof value === "number" && Number.isFinite(value) && !Number.isInteger(value)
    ? wrong("not_whole", name, { value })
    : number(name, value, rule, known);

const choice: Judge = (name, value, rule) => {
  if (typeof value !== "string") return badType(name);
  if (rule.refused?.includes(value)) return wrong("never", name, { value });
  return rule.open || rule.choices?.includes(value) ? null : wrong("bad_choice", name, { value });
};

const name: Judge = (field, value, rule, known) => {
  if (typeof value !== "string" || !NAME.test(value)) return wrong("bad_name", field);
  return rule.of === "feedstock" && !known.feedstocks.has(value)
    ? wrong("unknown_feedstock", field, { feedstock: value })
    : null;
};

const each =
  (judge: Judge, size: (count: number, rule: FieldRule) => boolean): Judge =>
  (field, value, rule, known) => {
    if (!Array.isArray(value) || !size(value.length, rule)) return badType(field);
    let unusual: Finding | null = null;
    for (const one of value) {
      const found = judge(field, one, rule, known);
      if (found !== null && !found.ask) return found;
      unusual ??= found;
    }
    return unusual;
  };

const quantity: Judge = (field, value, rule) => {
  if (!isObject(value) || !("value" in value) || !("unit" in value)) return badType(field);
  const { value: amount, unit } = value;
  if (typeof amount !== "number" || !Number.isFinite(amount)) return badType(`${field}.value`);
  const si = toSi(amount, String(unit));
  const bound = si === null ? undefined : boundsOf(rule)[si.unit];
  if (si === null || bound === undefined) {
    return wrong("bad_unit", `${field}.unit`, { unit: String(unit) });
  }
  const nothing = si.value === 0 && (si.unit === "kg" || si.unit === "L") && bound.low === 0;
  return nothing && !rule.zero ? wrong("nothing", field) : within(field, si.value, bound, si.unit);
};

const amount: Judge = (field, value, rule, known) => {
  if (!isObject(value) || !("container" in value)) return quantity(field, value, rule, known);
  const container = String(value["container"]);
  if (!known.containers.has(container)) return wrong("unknown_container", field, { container });
  if (known.unmeasured.has(container)) return wrong("no_measure", field, { container });
  const filled = value["filled"] ?? 1;
  return typeof filled === "number" && filled > 0 ? null : wrong("out_of_range", `${field}.filled`);
};

const matches =
  (pattern: RegExp): Judge =>
  (field, value) =>
    typeof value === "string" && pattern.test(value) && !Number.isNaN(Date.parse(value))
      ? null
      : wrong("bad_time", field);

const JUDGES: Readonly<Record<string, Judge>> = {
  text: (field, value) => (typeof value === "string" ? null : badType(field)),
  name,
  choice,
  choices: each(choice, (count) => count > 0),
  names: each(name, () => true),
  photos: each(name, () => true),
  number,
  integer,
  counts: each(integer, (count, rule) => count > 0 && count <= (rule.most ?? Infinity)),
  numbers: each(number, (count, rule) => count === rule.count),
  flag: (field, value) => (typeof value === "boolean" ? null : badType(field)),
  object: (field, value) => (isObject(value) ? null : badType(field)),
  time: matches(TIME),
  day: matches(DAY),
  quantity,
  amount,
};
