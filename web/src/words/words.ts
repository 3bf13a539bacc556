import { computed, signal } from "@preact/signals";
import { localDay } from "../log/clock";
import { symbol } from "../log/units";
import { format, type Part, parse, type Values } from "./message";
import * as written from "./written";

/*
 * One catalogue a language lives beside the service, so that command line and phone say the same.
 * English comes with the page, and says what another language has no words for yet (`language.ts`).
 */
export type Catalogue = Readonly<Record<string, string>>;

export const english = Object.assign(
  {},
  ...Object.values(
    import.meta.glob<Catalogue>(["@words/parts/*.en.json", "!@words/parts/{terminal,sheet,guide}.en.json"], {
      eager: true,
      import: "default",
    }),
  ),
) as Catalogue;

/** Words that come with a screen of their own, not with the first page. */
export function teach(more: Catalogue): void {
  Object.assign(english, more);
}

type Spoken = { readonly catalogue: Catalogue; readonly locale: string };

/** English as the phone's owner writes it: with their order of day and month. */
const own = typeof navigator === "undefined" ? "en" : navigator.language;
const spoken = signal<Spoken>({ catalogue: english, locale: own.startsWith("en") ? own : "en" });
export const locale = computed(() => spoken.value.locale);
const parsed = new Map<string, readonly Part[]>();

/** Say all from now on in a language: its messages, and the signs and order of its locale. */
export function speak(catalogue: Catalogue, as: string): void {
  spoken.value = { catalogue, locale: as };
}

/** Is there such a message? */
export const has = (key: string): boolean => key in spoken.value.catalogue || key in english;

/** Say something: a message of the catalogue with its values filled in. */
export function t(key: string, values: Values = {}): string {
  const own = spoken.value.catalogue[key];
  const text = own ?? english[key];
  if (text === undefined) return key;
  let parts = parsed.get(text);
  if (parts === undefined) {
    parts = parse(text);
    parsed.set(text, parts);
  }
  return format(parts, values, {
    // What English says must count as English does.
    locale: own === undefined ? "en" : locale.value,
    value: anything,
  });
}

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
export const ends = (low: number, high: number, unit: string, middle: number) =>
  written.ends(locale.value, low, high, unit, middle);
export const day = (iso: string): string => written.day(locale.value, iso, today());
export const weekday = (iso: string): string => written.weekday(locale.value, iso);
export const month = (iso: string, width: "short" | "long" = "short"): string =>
  written.month(locale.value, iso, width);
export const instant = (iso: string): string => written.instant(locale.value, iso, today());
export const ago = (iso: string): string => written.ago(locale.value, iso, new Date());
export const inDays = (days: number): string => written.inDays(locale.value, days);
