import described from "../generated/knowledge.json";
import type { FeedstockPlan } from "../generated/shapes";

/** What the service's own description of entries and units says; no number of it is typed here. */
export type Bound = {
  readonly low: number;
  readonly high: number;
  readonly ask_low?: number;
  readonly ask_high?: number;
};

export type FieldRule = {
  readonly type: string;
  readonly required?: boolean;
  readonly open?: boolean;
  readonly of?: string;
  readonly zero?: boolean;
  readonly bounds?: string;
  readonly choices?: readonly string[];
  readonly refused?: readonly string[];
  readonly low?: number;
  readonly high?: number;
  readonly ask_low?: number;
  readonly ask_high?: number;
  readonly most?: number;
  readonly count?: number;
};

export type KindRule = {
  readonly about: string;
  readonly stations: readonly string[];
  readonly side?: boolean;
  readonly some_of?: readonly string[];
  readonly fields: Readonly<Record<string, FieldRule>>;
};

export type UnitRule = {
  readonly kind: string;
  readonly factor: readonly [number, number];
  readonly offset: number;
  readonly symbol: string;
};

type Knowledge = {
  readonly envelope: readonly string[];
  readonly kinds: Readonly<Record<string, KindRule>>;
  readonly setup: Readonly<Record<string, Readonly<Record<string, FieldRule>>>>;
  readonly bounds: Readonly<Record<string, Readonly<Record<string, Bound>>>>;
  readonly units: Readonly<Record<string, UnitRule>>;
  /** The feedstocks that come with the service, for a place that has no plan yet. */
  readonly feedstocks: readonly FeedstockPlan[];
};

export const knowledge = described as unknown as Knowledge;

/** The fields every kind of entry may have, and those the service adds; the others are its kind's own. */
export const ENVELOPE: ReadonlySet<string> = new Set(knowledge.envelope);

/** The kinds that may be recorded at a kind of station, in the order of the description. */
export function kindsFor(stationType: string): string[] {
  return Object.entries(knowledge.kinds)
    .filter(([, rule]) => rule.stations.includes(stationType))
    .map(([kind]) => kind);
}

export const stationTypes: readonly string[] = knowledge.setup["station"]?.["type"]?.choices ?? [];

/** The rule of a field of a kind, or of what is set up (`set.name` of a station, say). */
export function fieldRule(kind: string, field: string): FieldRule | undefined {
  return knowledge.kinds[kind]?.fields[field];
}

/** The SI units a field may be measured in, with the bounds of each. */
export function boundsOf(rule: FieldRule): Readonly<Record<string, Bound>> {
  return rule.bounds ? (knowledge.bounds[rule.bounds] ?? {}) : {};
}
