import { rounded } from "../log/rounded";
import { symbol } from "../log/units";

/** Numbers, dates and spans as the reader writes them; everything by the platform's Intl. */
const DAY = /^\d{4}-\d\d-\d\d$/;
const INSTANT = /^\d{4}-\d\d-\d\dT\d\d:\d\d/;
const MONTH = /^\d{4}-\d\d$/;

const formats = new Map<string, Intl.NumberFormat | Intl.DateTimeFormat | Intl.RelativeTimeFormat>();

function made<T extends Intl.NumberFormat | Intl.DateTimeFormat | Intl.RelativeTimeFormat>(
  key: string,
  make: () => T,
): T {
  const found = formats.get(key) ?? make();
  formats.set(key, found);
  return found as T;
}

const dates = (locale: string, options: Intl.DateTimeFormatOptions) =>
  made(`${locale}${JSON.stringify(options)}`, () => new Intl.DateTimeFormat(locale, options));

/** A figure with as many digits as somebody at a bin can use: 1234, 123, 12.3, 1.23, 0.12, 0.012. */
export function number(locale: string, value: number): string {
  const size = Math.abs(value);
  const digits = size >= 100 ? 0 : size >= 10 ? 1 : 2;
  const options = size < 1 ? { maximumSignificantDigits: digits } : { maximumFractionDigits: digits };
  return made(`${locale}${size < 1}${digits}`, () => new Intl.NumberFormat(locale, options))
    .format(value)
    .replace("-", "−");
}

/** `12 Mar`, with the year if it isn't this one. */
export function day(locale: string, iso: string, today: string): string {
  const date = new Date(`${iso.slice(0, 10)}T00:00Z`);
  const year = iso.slice(0, 4) === today.slice(0, 4) ? {} : ({ year: "numeric" } as const);
  return dates(locale, { day: "numeric", month: "short", timeZone: "UTC", ...year }).format(date);
}

/** The two ends of a time, as `day` says each; a year one of them needs, both name. */
export function days(locale: string, since: string, until: string, today: string): [string, string] {
  const year = [since, until].every((one) => one.slice(0, 4) === today.slice(0, 4)) ? today : "";
  return [day(locale, since, year), day(locale, until, year)];
}

export function weekday(locale: string, iso: string): string {
  const date = new Date(`${iso.slice(0, 10)}T00:00Z`);
  return dates(locale, { weekday: "long", day: "numeric", month: "long", timeZone: "UTC" }).format(date);
}

export function month(locale: string, iso: string, width: "short" | "long" = "short"): string {
  const date = new Date(`${iso.slice(0, 7)}-01T00:00Z`);
  const year = width === "long" ? ({ year: "numeric" } as const) : {};
  return dates(locale, { month: width, timeZone: "UTC", ...year }).format(date);
}

/**
 * An instant: the time alone if it was today, else with its day. It is said as it was written, by the clock
 * of the place, whatever zone the phone is in by now; one that names no zone of its own, by the phone's.
 */
export function instant(locale: string, iso: string, today: string): string {
  const written = iso.endsWith("Z")
    ? ([new Date(iso), {}] as const)
    : ([new Date(`${iso.slice(0, 16)}Z`), { timeZone: "UTC" }] as const);
  const time = dates(locale, { hour: "2-digit", minute: "2-digit", ...written[1] }).format(written[0]);
  return iso.slice(0, 10) === today ? time : `${day(locale, iso, today)}, ${time}`;
}

const STEPS: readonly [Intl.RelativeTimeFormatUnit, number][] = [
  ["day", 86_400],
  ["hour", 3_600],
  ["minute", 60],
];

/** `2 hours ago`, `yesterday`, `now`. */
export function ago(locale: string, iso: string, now: Date): string {
  const seconds = (Date.parse(iso) - now.getTime()) / 1000;
  const relative = made(`ago${locale}`, () => new Intl.RelativeTimeFormat(locale, { numeric: "auto" }));
  const [unit, size] = STEPS.find(([, one]) => Math.abs(seconds) >= one) ?? ["second", Infinity];
  return relative.format(Math.trunc(seconds / size) || 0, unit);
}

/** A number of days from today in words: `tomorrow`, `in 3 days`. */
export function inDays(locale: string, days: number): string {
  return made(`ago${locale}`, () => new Intl.RelativeTimeFormat(locale, { numeric: "auto" })).format(
    days,
    "day",
  );
}

/** A measure as people say it: shares as per cent, lengths below a metre in centimetres. */
function spoken(value: number, unit: string): readonly [number, string] {
  if (unit === "1") return [value * 100, "percent"];
  return unit === "m" && Math.abs(value) < 1 ? [value * 100, "cm"] : [value, unit];
}

export function measure(locale: string, value: number, unit: string, name = symbol): string {
  const [said, as] = spoken(value, unit);
  const shown = name(as);
  return shown === "" ? number(locale, said) : `${number(locale, said)}\u00a0${shown}`;
}

/** Below this, kilograms begin with a nought and a person at a scale says grams; 0.995 would round to 1,000 g. [kg] */
const IN_GRAMS_BELOW_KG = 0.995;
const inGrams = (kg: number): boolean => kg !== 0 && Math.abs(kg) < IN_GRAMS_BELOW_KG;

/** Grams to two digits, as kilograms below one are told. */
const grams = (kg: number): number => Number((kg * 1000).toPrecision(2));

/** A mass that was reckoned, with the unit its size asks for. */
export const weighed = (locale: string, kg: number): string =>
  inGrams(kg) ? `${number(locale, grams(kg))}\u00a0g` : `${number(locale, kg)}\u00a0kg`;

/** What was reckoned, as people tell it: a value, its unit, and the ends of its range in the same unit. */
export type Estimate = {
  readonly figure: string;
  readonly unit: string;
  readonly amount: string;
  readonly low: string;
  readonly high: string;
};

/** A value that was reckoned, to the digits its range leaves a meaning to. What was noted is told by `measure`. */
export function estimate(
  locale: string,
  value: number,
  low: number | null,
  high: number | null,
  unit: string,
  name = symbol,
): Estimate {
  const ranged = low !== null && high !== null && low !== high;
  const small = unit === "kg" && inGrams(value);
  const [, spokenAs] = spoken(value, unit);
  const as = small ? "g" : spokenAs;
  const scale = small ? 1000 : as === unit ? 1 : 100;
  const said = (one: number) =>
    number(locale, ranged ? rounded(one * scale, low * scale, high * scale) : one * scale);
  const figure = small && !ranged ? number(locale, grams(value)) : said(value);
  const called = name(as);
  return {
    figure,
    unit: called,
    amount: called === "" ? figure : `${figure}\u00a0${called}`,
    low: said(low ?? value),
    high: said(high ?? value),
  };
}

/** A value inside a message: numbers and dates are recognised by their form. */
export function anything(locale: string, value: unknown, today: string): string {
  if (typeof value === "number") return number(locale, value);
  if (typeof value !== "string") return value === null || value === undefined ? "–" : String(value);
  if (DAY.test(value)) return day(locale, value, today);
  if (INSTANT.test(value)) return instant(locale, value, today);
  return MONTH.test(value) ? month(locale, value, "long") : value;
}

/** The signs a person's language puts between whole and part, and between thousands. */
function signs(locale: string): { decimal: string; group: string } {
  const parts = made(`signs${locale}`, () => new Intl.NumberFormat(locale)) as Intl.NumberFormat;
  const found = parts.formatToParts(12_345.5);
  const sign = (type: string) => found.find((one) => one.type === type)?.value ?? "";
  return { decimal: sign("decimal"), group: sign("group") };
}

/**
 * A number as a person types it: with their own decimal sign or the other, with or without their sign of
 * thousands, with wide digits; undefined if it can't be read.
 */
export function readNumber(locale: string, typed: string): number | undefined {
  const text = typed
    .normalize("NFKC")
    .trim()
    .replace(/[\u2212\u2013]/, "-")
    .replace(/[\s\u2019']/g, "");
  const { group } = signs(locale);
  const thousands =
    group.trim() !== "" && new RegExp(`^-?[1-9]\\d{0,2}(\\${group}\\d{3})+(?!\\d)`).test(text);
  const plain = (thousands ? text.split(group).join("") : text).replace(/,/, ".");
  return /^-?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : undefined;
}
