// Made from the server's shapes by `make shapes`; changed there, never here.

export type Value = string | number | boolean | null;

/** The working behind a figure: the sentence, the entries and the constants it rests on. */
export type Because = {
  readonly key: string;
  readonly values: Readonly<Record<string, Value>>;
  readonly entries: readonly string[];
  readonly constants: readonly string[];
};

/** A number with its 80 % range, unit and working. */
export type Figure = {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly unit: string;
  readonly because: Because;
};

/** Something to put in together with the ration, and why. */
export type Addition = {
  readonly material: string;
  readonly kg: number;
  readonly because: Because;
};

/** What may go in today, and the limit that binds. */
export type Ration = {
  readonly side: string | null;
  readonly kg: number;
  readonly low: number;
  readonly high: number;
  readonly limit: string;
  readonly add: readonly Addition[];
  readonly because: Because;
};

/** What is coming, and when. */
export type Ahead = {
  readonly what: string;
  readonly side: string | null;
  readonly due: string | null;
  readonly earliest: string | null;
  readonly latest: string | null;
  readonly amount?: Figure;
  readonly because: Because;
};

/** Something to do. `id` stays the same while the matter is the same. */
export type Job = {
  readonly id: string;
  readonly what: string;
  readonly station: string;
  readonly side: string | null;
  readonly due: string;
  readonly earliest: string | null;
  readonly latest: string | null;
  readonly late: boolean;
  readonly because: Because;
  readonly cautions: readonly string[];
};

/** A sign that asks for care. `remedies` are message keys, first thing first. */
export type Warning = {
  readonly code: string;
  readonly level: "note" | "caution" | "danger";
  readonly side: string | null;
  readonly because: Because;
  readonly remedies: readonly string[];
};

/** A plain threshold a phone applies by itself to a new reading (field in its SI unit). */
export type Limit = {
  readonly station: string;
  readonly side: string | null;
  readonly field: string;
  readonly unit: string;
  readonly above: number | null;
  readonly below: number | null;
  readonly level: "note" | "caution" | "danger";
  readonly code: string;
};

/** Points for a chart; `low` and `high` bound a band, `band` is the comfortable range. */
export type Series = {
  readonly name: string;
  readonly side: string | null;
  readonly unit: string;
  readonly days: readonly string[];
  readonly values: readonly (number | null)[];
  readonly low?: readonly (number | null)[];
  readonly high?: readonly (number | null)[];
  readonly band?: readonly number[];
};

/** When a station was last looked after, and by whom. */
export type Seen = {
  readonly at: string;
  readonly by: string;
};

/** All that is known of one station. `state` holds what its kind of station tells; `last` the newest value of each field entered there, a starting point for the next record. */
export type StationPlan = {
  readonly id: string;
  readonly type: string;
  readonly name: string;
  readonly order: number;
  readonly last_seen: Seen | null;
  readonly last: Readonly<Record<string, unknown>>;
  readonly state: Readonly<Record<string, unknown>>;
  readonly ration: Ration | null;
  readonly jobs: readonly Job[];
  readonly ahead: readonly Ahead[];
  readonly warnings: readonly Warning[];
  readonly limits: readonly Limit[];
  readonly series: readonly Series[];
};

/** One stream of scraps kept out of landfill in a period. */
export type Stream = {
  readonly stream: string;
  readonly kg: number;
  readonly low: number;
  readonly high: number;
  readonly measured_kg: number;
};

/** One month of the tally, `YYYY-MM`. `net_kg` = sum of streams − `rejected_kg`, and may be below 0. */
export type Month = {
  readonly month: string;
  readonly streams: Readonly<Record<string, number>>;
  readonly rejected_kg: number;
  readonly net_kg: number;
};

/** What was kept out of landfill, and what came out, in a period (both days included). */
export type Tally = {
  readonly since: string;
  readonly until: string;
  readonly net: Figure;
  readonly gross_kg: number;
  readonly rejected_kg: number;
  readonly streams: readonly Stream[];
  readonly stations: Readonly<Record<string, number>>;
  readonly people: Readonly<Record<string, number>>;
  readonly months: readonly Month[];
  readonly outputs: Readonly<Record<string, number>>;
  readonly not_counted_kg: Readonly<Record<string, number>>;
};

/** Somebody of the place. */
export type PersonPlan = {
  readonly id: string;
  readonly name: string;
  readonly role: string;
  readonly last_day: string | null;
};

/** A container amounts may be given in. */
export type ContainerPlan = {
  readonly id: string;
  readonly name: string;
  readonly litres: number | null;
  readonly full_kg: number | null;
};

/** Something fed here; `takes` are the kinds of station it may go to. */
export type FeedstockPlan = {
  readonly id: string;
  readonly name: string | null;
  readonly stream: string;
  readonly takes: readonly string[];
  readonly cautions: readonly string[];
};

/** The place in short. */
export type PlacePlan = {
  readonly name: string;
  readonly invented: boolean;
  readonly people: readonly PersonPlan[];
  readonly containers: readonly ContainerPlan[];
  readonly feedstocks: readonly FeedstockPlan[];
};

/** An entry the fold could not use, and why. */
export type SetAside = {
  readonly id: string;
  readonly why: string;
  readonly field: string;
};

/** Which entries and which models a plan was made from. */
export type MadeFrom = {
  readonly entries: number;
  readonly newest: string | null;
  readonly models: string;
  readonly newer_kinds: number;
  readonly set_aside: readonly SetAside[];
};

/** A constant some figure of the plan rests on. */
export type ConstantPlan = {
  readonly value: number;
  readonly unit: string;
  readonly low: number;
  readonly high: number;
  readonly cite: string;
  readonly where: string;
  readonly basis: string;
  readonly confidence: string;
  readonly note: string;
};

/** What to do, what is coming and what was achieved, from the same entries and instant the same. */
export type Plan = {
  readonly at: string;
  readonly place: PlacePlan;
  readonly stations: readonly StationPlan[];
  readonly tally: Tally;
  readonly limits: readonly Limit[];
  readonly constants: Readonly<Record<string, ConstantPlan>>;
  readonly made_from: MadeFrom;
};
