import { IntlMessageFormat } from "intl-messageformat";
import { expect, test } from "vitest";
import { format, parse } from "./message";

const writer = {
  locale: "en",
  value: (value: unknown) => String(value),
  mass: (kg: unknown) => `${Number(kg) * 1000} g`,
};
const ours = (text: string, values: Record<string, unknown>) => format(parse(text), values, writer);

/* Held against intl-messageformat, a full implementation of ICU messages. */
const MESSAGES: readonly (readonly [string, readonly Record<string, string | number>[]])[] = [
  ["plain words", [{}]],
  ["{name} was here", [{ name: "Kit" }]],
  ["it''s {name}''s pail", [{ name: "Kit" }]],
  ["don't, '{not}' a value, {yes}", [{ yes: "yes" }]],
  ["{n, plural, one {# egg} other {# eggs}}", [{ n: 0 }, { n: 1 }, { n: 2 }]],
  [
    "{n, plural, =0 {none} one {one, by {who}} other {# by {who}}} here",
    [
      { n: 0, who: "Kit" },
      { n: 1, who: "Kit" },
      { n: 7, who: "Kit" },
    ],
  ],
  ["{x, select, a {first} b {second} other {something}}", [{ x: "a" }, { x: "b" }, { x: "z" }]],
  ["{x, select, named {by {who}} other {}}", [{ x: "named", who: "Kit" }, { x: "" }]],
  [
    "{a, plural, one {# pail{b, plural, one {} other { and # more}}} other {# pails}}",
    [
      { a: 1, b: 1 },
      { a: 1, b: 3 },
      { a: 2, b: 1 },
    ],
  ],
  ["# stays outside a plural, {n, plural, other {'#' is #}}", [{ n: 4 }]],
];

test.each(MESSAGES.flatMap(([text, all]) => all.map((values) => [text, values] as const)))(
  "%s with %o reads as the full library reads it",
  (text, values) => {
    expect(ours(text, values)).toBe(new IntlMessageFormat(text, "en").format(values));
  },
);

test("plurals follow the language: Japanese has one form, English two", () => {
  const text = "{n, plural, one {one} other {other}}";
  expect(format(parse(text), { n: 1 }, { ...writer, locale: "ja" })).toBe("other");
  expect(format(parse(text), { n: 1 }, writer)).toBe("one");
});

test.each(["en", "es", "es-MX", "pt", "pt-PT", "fr", "fr-CA", "de", "ja"])(
  "in %s every count takes the form the full library gives it",
  (locale) => {
    const text = "{n, plural, =3 {three} one {# one} many {# many} other {# other}}";
    const value = (value: unknown) => new Intl.NumberFormat(locale).format(Number(value));
    const writes = { ...writer, locale, value };
    for (const n of [0, 0.5, 1, 1.5, 2, 3, 11, 21, 100, 1_000_000, 2_000_000]) {
      expect(format(parse(text), { n }, writes)).toBe(new IntlMessageFormat(text, locale).format({ n }));
    }
  },
);

test("a number whose style is mass is said with its unit", () => {
  expect(ours("{kg, number, mass} left, {kg, number}", { kg: 0.066 })).toBe("66 g left, 0.066");
});

test.each(["{", "{n", "{n, plural, one {x}", "{n, colour}", "{n, number, colour}", "{n, plural one {x}}"])(
  "a broken message (%s) is refused when it is read, not when it is shown",
  (text) => {
    expect(() => parse(text)).toThrow(SyntaxError);
  },
);
