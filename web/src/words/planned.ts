import type { Ahead, Because, Job, Limit, Ration, Warning } from "../generated/shapes";
import { daysBetween, localDay } from "../log/clock";
import type { Station } from "../log/holding";
import type { Crossed } from "../log/limits";
import { text } from "../log/place";
import type { Values } from "./message";
import { day, ends, inDays, mass, rationAmount, say, t, today } from "./words";

/** Words for what a plan says: its keys and values, with the place's own names put in. */
type Of = Pick<Station, "type"> & Partial<Station>;

/** What people call a side of this bed. */
export function sideName(station: Partial<Station> | undefined, side: string | null | undefined): string {
  if (!side) return "";
  return text(station?.item, `side_${side}_name`) || planSide(station, side) || t(`app.side.${side}`);
}

function planSide(station: Partial<Station> | undefined, side: string): string {
  const name = station?.plan?.state[`side_${side}_name`];
  return typeof name === "string" ? name : "";
}

const named = (station: Of, side: string | null, values: Values): Values => ({
  ...values,
  station: station.name ?? values["station"],
  side: sideName(station, side ?? (values["side"] as string | undefined)),
});

export const jobWords = (station: Of, job: Job): string =>
  say(
    [`app.job.${job.what}`, `job.${job.what}`, `${station.type}.job.${job.what}`, "app.job.other"],
    named(station, job.side, { ...job.because.values, what: job.what }),
  );

export const aheadWords = (station: Of, one: Pick<Ahead, "what" | "side" | "because">): string =>
  say(
    [`app.ahead.${one.what}`, `${station.type}.ahead.${one.what}`, "app.ahead.other"],
    named(station, one.side, { ...one.because.values, what: one.what }),
  );

export const becauseWords = (station: Of | undefined, because: Because, side: string | null = null): string =>
  say([because.key, "app.because.other"], station ? named(station, side, because.values) : because.values);

export const warningWords = (station: Of, warning: Warning): string =>
  say(
    [warning.because.key, `${station.type}.warn.${warning.code}`, "app.warn.other"],
    named(station, warning.side, { ...warning.because.values, code: warning.code }),
  );

/** A limit crossed on the phone: the same words as the plan's warning, with the value and the limit. */
export function crossedWords(station: Of, { limit, value }: Crossed): string {
  const bound = value > (limit.above ?? Infinity) ? limit.above : limit.below;
  const values: Record<string, unknown> = { value, limit: bound, unit: limit.unit, code: limit.code };
  for (const ending of ["", "_c", "_pct", "_m"]) {
    values[`${limit.field}${ending}`] = value;
    values[`limit${ending}`] = bound;
  }
  return say(
    [`${station.type}.warn.${limit.code}`, `warn.${limit.code}`, "app.warn.limit"],
    named(station, limit.side, values),
  );
}

export const levelWords = (level: Limit["level"]): string => t(`app.level.${level}`);

/** A remedy or a caution is a message key of its own. */
export const adviceWords = (station: Of, key: string): string =>
  say([key, `${station.type}.remedy.${key}`, `${station.type}.caution.${key}`, `app.caution.${key}`], {});

/** When something is due, in words: `late by 2 days`, `today`, `in 3 days`, `12 Mar`. */
export function dueWords(due: string | null): string {
  if (due === null) return t("app.due.not_within_a_year");
  const days = daysBetween(today(), due);
  if (days < 0) return t("app.due.late", { days: -days });
  return days <= 13 ? inDays(days) : day(due);
}

/** The 80 % interval of a date in words; empty if there is none, or it is a single day. */
export function spanWords(one: Pick<Ahead, "earliest" | "latest" | "due">): string {
  const { earliest, latest } = one;
  if (earliest === null && latest === null) return "";
  if (latest === null) return t("app.span.from", { earliest });
  if (earliest === null) return t("app.span.until", { latest });
  if (earliest === latest) return "";
  const { since, until } = ends({ since: earliest, until: latest });
  return t("app.span.between", { earliest: since, latest: until });
}

/** What sets the limit; where nothing may go in, in words for that if there are any. */
export const limitWords = ({ kg, limit, because }: Ration): string =>
  say([...(kg === 0 ? [`app.limit.none.${limit}`] : []), `app.limit.${limit}`, "app.limit.other"], {
    ...because.values,
    limit,
  });

/** What may still go in today. */
export const rationWords = (of: Ration): string =>
  of.kg === 0 ? t("app.round.ration_none") : t("app.round.ration", { amount: rationAmount(of) });

/** What of it is left while a feed is being noted. */
export const leftWords = (kg: number): string => t("app.record.left", { kg, amount: mass(kg) });

export const dayOf = (at: string): string => localDay(new Date(at));
