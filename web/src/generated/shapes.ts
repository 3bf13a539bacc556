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

/** A middle figure between the ends of its range. */
export type Spread = {
  readonly low: number;
  readonly mid: number;
  readonly high: number;
};

/** What of something was fed, with its range, and what of it left again for landfill. `measured_kg` was weighed, `estimated_kg` came from containers and volumes: parts of `kg`. */
export type Row = {
  readonly kg: number;
  readonly low: number;
  readonly high: number;
  readonly measured_kg: number;
  readonly estimated_kg: number;
  readonly dry_kg: number;
  readonly rejected_kg: number;
  readonly net_kg: number;
};

/** One stream of scraps. */
export type Stream = {
  readonly kg: number;
  readonly low: number;
  readonly high: number;
  readonly measured_kg: number;
  readonly estimated_kg: number;
  readonly dry_kg: number;
  readonly rejected_kg: number;
  readonly net_kg: number;
  readonly stream: string;
};

/** What one station got, or one person fed; an `id` of '' is nobody named. */
export type Share = {
  readonly kg: number;
  readonly low: number;
  readonly high: number;
  readonly measured_kg: number;
  readonly estimated_kg: number;
  readonly dry_kg: number;
  readonly rejected_kg: number;
  readonly net_kg: number;
  readonly id: string;
};

/** One month of the tally, `YYYY-MM`. `net_kg` = sum of streams − `rejected_kg`, and may be below 0. */
export type Month = {
  readonly month: string;
  readonly streams: Readonly<Record<string, number>>;
  readonly rejected_kg: number;
  readonly net_kg: number;
  readonly low: number;
  readonly high: number;
  readonly measured_kg: number;
  readonly estimated_kg: number;
  readonly dry_kg: number;
  readonly outputs: Readonly<Record<string, number>>;
};

/** Avoided by one assessment report's warming potentials, kg of CO2 equivalent. `net` = `landfill` − `treatment`, ends set against each other. `measured` is the treatment by what was measured on worm bins and larvae, null where a bed has no area set; `net_wet` the net by the IPCC's wet weights. */
export type AvoidedReport = {
  readonly report: string;
  readonly landfill: Spread;
  readonly treatment: Spread;
  readonly net: Spread;
  readonly measured: Spread | null;
  readonly net_wet: Spread;
};

/** Methane a landfill would have made, less what was emitted here; two digits, for it knows no more. `climate` and `landfill_gas` are null where the place has not set them: the range spans all cases. `within` is methane avoided up to each year after the deposit: part of `methane_kg`, never added to it. */
export type Avoided = {
  readonly climate: string | null;
  readonly landfill_gas: string | null;
  readonly methane_kg: Spread;
  readonly within: Readonly<Record<string, number>>;
  readonly reports: readonly AvoidedReport[];
  readonly because: Because;
  readonly boundary: Because;
};

/** One product taken out: wet and dry mass and nutrients it holds; null where nobody knows. */
export type Output = {
  readonly what: string;
  readonly kg: number;
  readonly low: number;
  readonly high: number;
  readonly measured_kg: number;
  readonly dry: Spread;
  readonly nitrogen: Spread | null;
  readonly phosphorus: Spread | null;
  readonly potassium: Spread | null;
};

/** One nutrient, kg of the element: fed, expected to stay, and taken out to soil; `oxide` as sacks say. `unknown_dry_kg` is dry matter fed of which nobody has said what it holds. */
export type Nutrient = {
  readonly nutrient: string;
  readonly fed: Spread | null;
  readonly expected: Spread | null;
  readonly to_soil: Spread | null;
  readonly oxide: Spread | null;
  readonly unknown_dry_kg: number;
};

/** What came out of the stations, and the nutrients of it that soil gets. */
export type Recovered = {
  readonly outputs: readonly Output[];
  readonly nutrients: readonly Nutrient[];
  readonly because: Because;
};

/** Wet mass, dry mass and nitrogen of one thing that moved or lies somewhere, unrounded. */
export type Flow = {
  readonly what: string;
  readonly wet_kg: number;
  readonly dry_kg: number;
  readonly nitrogen_kg: number;
};

/** A station (`at bed`), a product in hand (`hand larvae`) or the place, over a period. before + came = left + lost + after, for each of the three figures. */
export type Account = {
  readonly account: string;
  readonly came: readonly Flow[];
  readonly left: readonly Flow[];
  readonly lost: Flow;
  readonly before: Flow;
  readonly after: Flow;
};

/** The whole place as a balance of mass and nitrogen; `open_kg` is the largest gap of any account. */
export type Balance = {
  readonly place: Account;
  readonly accounts: readonly Account[];
  readonly open_kg: number;
  readonly because: Because;
};

/** What moved or lies somewhere, unrounded; protein is null where it is not told. */
export type CircleFlow = {
  readonly wet_kg: number;
  readonly dry_kg: number;
  readonly nitrogen_kg: number;
  readonly protein_kg: number | null;
};

/** What went from one place of the circle to another, and how many entries say so. */
export type CircleArrow = {
  readonly wet_kg: number;
  readonly dry_kg: number;
  readonly nitrogen_kg: number;
  readonly protein_kg: number | null;
  readonly source: string;
  readonly target: string;
  readonly count: number;
  readonly because: Because;
};

/** A place of the circle: before + came = left + after, null where nothing is stored. `protein_turned_kg` is the protein that came and did not leave as such. */
export type CircleNode = {
  readonly node: string;
  readonly before: CircleFlow | null;
  readonly after: CircleFlow | null;
  readonly came: CircleFlow;
  readonly left: CircleFlow;
  readonly protein_turned_kg: number | null;
};

/** What moved between the places in a period (both days included); `open_kg` is the largest gap. */
export type Circle = {
  readonly since: string;
  readonly until: string;
  readonly nodes: readonly CircleNode[];
  readonly arrows: readonly CircleArrow[];
  readonly open_kg: number;
  readonly because: Because;
};

/** What a published standard of measuring counts here, and words that say so. */
export type Standard = {
  readonly id: string;
  readonly key: string;
  readonly kg: number;
  readonly cite: string;
};

/** What one feed of these streams may weigh before one asks whether it is right; null: nobody can say. */
export type FeedLimit = {
  readonly kg: number | null;
  readonly streams: readonly string[];
  readonly because: Because;
};

/** What was kept out of landfill, and what came out, in a period (both days included). `stations` and `people` give what was fed; `by_station` and `by_person` the same in full. `kept_pct` is the net share of what was fed; null where nothing was. */
export type Tally = {
  readonly since: string;
  readonly until: string;
  readonly net: Figure;
  readonly gross_kg: number;
  readonly rejected_kg: number;
  readonly kept_pct: number | null;
  readonly measured_kg: number;
  readonly estimated: Spread;
  readonly dry: Spread;
  readonly streams: readonly Stream[];
  readonly stations: Readonly<Record<string, number>>;
  readonly people: Readonly<Record<string, number>>;
  readonly by_station: readonly Share[];
  readonly by_person: readonly Share[];
  readonly months: readonly Month[];
  readonly outputs: Readonly<Record<string, number>>;
  readonly not_counted_kg: Readonly<Record<string, number>>;
  readonly rejected_apart_kg: Readonly<Record<string, number>>;
  readonly elsewhere_kg: number;
  readonly avoided: Avoided;
  readonly recovered: Recovered;
  readonly balance: Balance;
  readonly standards: readonly Standard[];
  readonly asks: readonly Warning[];
  readonly feed_limit: FeedLimit;
};

/** Somebody of the place; hours are those of the place's own time. */
export type PersonPlan = {
  readonly id: string;
  readonly name: string;
  readonly role: string;
  readonly last_day: string | null;
  readonly remind_hour: number;
  readonly quiet_from_hour: number;
  readonly quiet_until_hour: number;
};

/** A container amounts may be given in. */
export type ContainerPlan = {
  readonly id: string;
  readonly name: string;
  readonly litres: number | null;
  readonly full_kg: number | null;
};

/** Something fed here; `takes` are the kinds of station it may go to. `shares` are the largest shares of a day's feed there; `kg_per_l` is null where nobody has said. */
export type FeedstockPlan = {
  readonly id: string;
  readonly name: string | null;
  readonly stream: string;
  readonly takes: readonly string[];
  readonly shares: Readonly<Record<string, number>>;
  readonly moisture_pct: number;
  readonly kg_per_l: number | null;
  readonly cautions: readonly string[];
};

/** The place in short. */
export type PlacePlan = {
  readonly name: string;
  readonly invented: boolean;
  readonly time_zone: string | null;
  readonly people: readonly PersonPlan[];
  readonly containers: readonly ContainerPlan[];
  readonly feedstocks: readonly FeedstockPlan[];
};

/** Something to remind of. `id` stays the same while the matter is the same, whatever its date does. `remind` is the day somebody is reminded; `late` says that it has come. A forecast has its span; a routine job is reminded of when it is overdue; a limit is one that a reading crossed, or a danger. `since` is when the reading behind a limit was taken; `put_off_until` is the day it comes back, where somebody put it off. */
export type Matter = {
  readonly id: string;
  readonly kind: "forecast" | "routine" | "limit";
  readonly what: string;
  readonly station: string;
  readonly side: string | null;
  readonly level: "note" | "caution" | "danger";
  readonly remind: string;
  readonly since: string | null;
  readonly due: string | null;
  readonly earliest: string | null;
  readonly latest: string | null;
  readonly late: boolean;
  readonly put_off_until: string | null;
  readonly put_off_by: string | null;
  readonly because: Because;
};

/** Who walks on a day; `handed_over` if it was handed to them, whatever the week says. */
export type RosterDay = {
  readonly day: string;
  readonly people: readonly string[];
  readonly handed_over: boolean;
};

/** A station nobody has been at today; `carried_since` is the first day a round left it out. */
export type LeftStation = {
  readonly station: string;
  readonly carried_since: string | null;
};

/** Who walks the round, seven days from today; what was seen today and what is left; who is next. */
export type Roster = {
  readonly days: readonly RosterDay[];
  readonly seen: readonly string[];
  readonly left: readonly LeftStation[];
  readonly next: string | null;
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

/** What to do, what is coming and what was achieved, from the same entries and instant the same. `circles` are those of the last thirty days and of the tally's year. */
export type Plan = {
  readonly at: string;
  readonly place: PlacePlan;
  readonly stations: readonly StationPlan[];
  readonly reminders: readonly Matter[];
  readonly roster: Roster;
  readonly tally: Tally;
  readonly circles: readonly Circle[];
  readonly limits: readonly Limit[];
  readonly constants: Readonly<Record<string, ConstantPlan>>;
  readonly made_from: MadeFrom;
};

/** One part of a bucket, weighed. */
export type RoutePart = {
  readonly material: string;
  readonly kg: number;
  readonly low: number;
  readonly high: number;
};

/** Part of one material and where it goes: a station (and side), the freezer, or elsewhere. `amounts` are this share of what was asked, in the way it was measured, ready for entries. `until` is the day by which what is kept will have gone in, null where that can't be said. */
export type RouteShare = {
  readonly material: string;
  readonly kg: number;
  readonly where: "station" | "keep" | "elsewhere";
  readonly station: string | null;
  readonly side: string | null;
  readonly amounts: readonly (Readonly<Record<string, unknown>>)[];
  readonly until: string | null;
  readonly cautions: readonly string[];
  readonly because: Because;
};

/** Bedding or water to put in with a share. */
export type RouteAddition = {
  readonly material: string;
  readonly kg: number;
  readonly station: string;
  readonly side: string | null;
  readonly because: Because;
};

/** What a station (and side) takes of a bucket, and the mix of what was fed there of late with it. */
export type RouteStation = {
  readonly station: string;
  readonly name: string;
  readonly side: string | null;
  readonly side_name: string;
  readonly ration_kg: number;
  readonly kg: number;
  readonly moisture_pct: number | null;
  readonly carbon_to_nitrogen: number | null;
  readonly because: Because;
};

/** Where a bucket goes, by rations of the instant `at`. */
export type Route = {
  readonly at: string;
  readonly bucket: readonly RoutePart[];
  readonly shares: readonly RouteShare[];
  readonly together: readonly RouteAddition[];
  readonly stations: readonly RouteStation[];
  readonly warnings: readonly Warning[];
  readonly constants: Readonly<Record<string, ConstantPlan>>;
};
