// Made from the server's shapes by `make shapes`; changed there, never here.
import type { Because, Figure } from "./shapes";

/** All fish of one kind: their numbers by whereabouts, weight of one and of all, growth a day. */
export type ShoalState = {
  readonly species: string;
  readonly kind: string;
  readonly put_in: number;
  readonly found: number;
  readonly pond: number;
  readonly held: number;
  readonly killed: number;
  readonly died: number;
  readonly released_times: number;
  readonly killed_kg: number;
  readonly grams: Figure | null;
  readonly kg: number | null;
  readonly growth: Figure | null;
  readonly because: Because;
};

/** A catch, planned or taken, and what its cleaning leaves. `scraps` is null where that is not known, and then `missing` says what would tell it. Of a planned one `number` is what is still to be taken. */
export type DayCatch = {
  readonly id: string;
  readonly day: string;
  readonly species: string;
  readonly number: number;
  readonly kg: Figure | null;
  readonly cut: string | null;
  readonly scraps: Figure | null;
  readonly missing: "weight" | "cut" | "both" | "believed" | null;
  readonly barred: "hooks" | "bath" | null;
};

/** One step for fish to be eaten, with its cautions. */
export type DayStep = {
  readonly name: string;
  readonly because: Because;
  readonly cautions: readonly string[];
};

/** Where a day's scraps of fish go, `scraps_kg` of them as expected or weighed, from low to high. [kg] `bury_kg` is what no freezer holds; `days` until the last is gone from the freezer, null if never. */
export type ShareOut = {
  readonly scraps_kg: number;
  readonly low_kg: number;
  readonly high_kg: number;
  readonly today_kg: number;
  readonly freeze_kg: number;
  readonly others_kg: number;
  readonly bury_kg: number;
  readonly days: number | null;
  readonly because: Because;
};

/** How long fish must still lie in a bath, and whether the second, certain step is noted. */
export type BathWait = {
  readonly done: boolean;
  readonly left_min: number | null;
  readonly second_step: boolean;
  readonly because: Because;
};

/** What to measure for a bath that was noted, or what is missing (`problem`). `figures`: litres, mg_per_l, oil_mg, oil_ml, measure_ml (of the stock), other_ml (were '1:10' meant the other way), drops_low, drops_high, syringe_ml, line_ml, published_low, published_high. */
export type BathRecipe = {
  readonly id: string;
  readonly problem: Because | null;
  readonly stock?: string;
  readonly figures?: Readonly<Record<string, number>>;
  readonly because?: Because;
  readonly cautions?: readonly string[];
  readonly wait?: BathWait;
};

/** Whether the place opened the bath, why, and what the newest one needs. */
export type BathState = {
  readonly open: boolean;
  readonly because: Because;
  readonly recipe: BathRecipe | null;
};

/** The day of a catch; `share_out` is of `of_day`, null where no scraps are to be given to anything. */
export type PondDay = {
  readonly planned: readonly DayCatch[];
  readonly taken: readonly DayCatch[];
  readonly of_day: string | null;
  readonly steps: readonly DayStep[];
  readonly bath: BathState;
  readonly share_out: ShareOut | null;
};

/** A batch smoked or kept; `short_of` names limits it does not show to have met. */
export type PreserveState = {
  readonly id: string;
  readonly method: string;
  readonly kg: number | null;
  readonly inside_c: number | null;
  readonly minutes: number | null;
  readonly salt_in_water_pct: number | null;
  readonly kept_at_c: number | null;
  readonly days: number;
  readonly short_of: readonly string[];
  readonly because: Because;
};

/** A box of the hive's stack, from the top down, and what it most likely holds. */
export type StackBox = {
  readonly box: string;
  readonly since: string;
  readonly days: number;
  readonly holds: "building" | "brood" | "honey";
  readonly honey_kg: number;
  readonly because: Because;
};
