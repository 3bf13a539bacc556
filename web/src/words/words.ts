import { computed, signal } from "@preact/signals";
import type { Figure } from "../generated/shapes";
import { localDay } from "../log/clock";
import { symbol } from "../log/units";
import { format, type Part, parse, type Values } from "./message";
import * as written from "./written";

/*
 * One catalogue a language lives beside the service, so that command line and phone say the same. The
 * phone fetches one of them (`language.ts`); what that lacks it holds in English.
 */
export type Catalogue = Readonly<Record<string, string>>;
type Spoken = { readonly catalogue: Catalogue; readonly locale: string };

const spoken = signal<Spoken>({ catalogue: {}, locale: "en" });
export const locale = computed(() => spoken.value.locale);
/** All that can be said now, by its key. */
export const catalogue = computed(() => spoken.value.catalogue);
const parsed = new Map<string, readonly Part[]>();

/** Say all from now on in a language: its messages, and the signs and order of its locale. */
export function speak(catalogue: Catalogue, as: string): void {
  spoken.value = { catalogue, locale: as };
}

/** Know more messages of the language spoken now. */
export function learn(more: Catalogue): void {
  spoken.value = { ...spoken.value, catalogue: { ...spoken.value.catalogue, ...more } };
}

/** Is there such a message? */
export const has = (key: string): boolean => key in spoken.value.catalogue;

/** Say something: a message of the catalogue with its values filled in. */
export function t(key: string, values: Values = {}): string {
  const text = spoken.value.catalogue[key];
  if (text === undefined) return key;
  let parts = parsed.get(text);
  if (parts === undefined) {
    parts = parse(text);
    parsed.set(text, parts);
  }
  return format(parts, values, { locale: locale.value, value: anything, mass: anyMass }).replace(
    PARTED,
    "$1\u00a0",
  );
}

/** Between a figure and its unit no line ends, nor before a sign that stands apart as French sets it. */
const PARTED = /(\d) (?=(?:%|°|k?g|mg|c?m|m[²L]|L)(?![A-Za-z]))| (?=[?!:;»])/g;

/** The first of several messages there is; used where the service may know words this page doesn't. */
export function say(keys: readonly string[], values: Values = {}): string {
  return t(keys.find(has) ?? (keys.at(-1) as string), values);
}

export const today = (): string => localDay(new Date());

export const anything = (value: unknown): string => written.anything(locale.value, value, today());
export const number = (value: number): string => written.number(locale.value, value);
export const readNumber = (typed: string): number | undefined => written.readNumber(locale.value, typed);
/** A unit by its symbol, or by a word where it has none: larvae are counted in larvae. */
export function unitName(unit: string): string {
  const key = `app.unit.${unit}`;
  return has(key) ? t(key) : symbol(unit);
}

export const measure = (value: number, unit: string): string =>
  written.measure(locale.value, value, unit, unitName);
/** A mass that was reckoned, with the unit its size asks for: `1.2 kg`, `80 g`. */
export const mass = (kg: number): string => written.weighed(locale.value, kg);
const anyMass = (kg: unknown): string => (typeof kg === "number" ? mass(kg) : `${anything(kg)}\u00a0kg`);
/** What was reckoned, to the digits its range leaves a meaning to. */
export const estimate = (value: number, low: number | null, high: number | null, unit: string) =>
  written.estimate(locale.value, value, low, high, unit, unitName);
/** A figure of a plan, as it is told. */
export const figureWords = ({ value, low, high, unit }: Figure): string =>
  value === null ? t("app.not_known") : estimate(value, low, high, unit).amount;
/** Its range in short, without the unit; nothing where it has none. */
export const range = (value: number, low: number | null, high: number | null, unit: string): string =>
  low === null || high === null || low === high
    ? ""
    : t("app.range_short", { ...estimate(value, low, high, unit) });
/** What may go in. */
export const rationAmount = (of: { kg: number; low?: number; high?: number }): string =>
  estimate(of.kg, of.low ?? null, of.high ?? null, "kg").amount;
export const day = (iso: string): string => written.day(locale.value, iso, today());
/** The ends of a time, for a message that tells both: `29 Dec 2026` and `23 Jan 2027`. */
export function ends(of: { readonly since: string; readonly until: string }) {
  const [since, until] = written.days(locale.value, of.since, of.until, today());
  return { since, until };
}
export const weekday = (iso: string): string => written.weekday(locale.value, iso);
export const month = (iso: string, width: "short" | "long" = "short"): string =>
  written.month(locale.value, iso, width);
export const instant = (iso: string): string => written.instant(locale.value, iso, today());
export const ago = (iso: string): string => written.ago(locale.value, iso, new Date());
export const inDays = (days: number): string => written.inDays(locale.value, days);
