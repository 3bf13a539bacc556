import { describe, expect, test } from "vitest";
import { knowledge, stationTypes } from "../log/knowledge";
import { parse } from "./message";
import { catalogue, has, t } from "./words";

const sources = import.meta.glob<string>(["../**/*.{ts,tsx}", "!../**/*.test.ts", "!../testing/**"], {
  eager: true,
  query: "?raw",
  import: "default",
});

describe("the catalogue", () => {
  test("has every message the screens name", () => {
    const named = Object.values(sources).flatMap((text) =>
      [...text.matchAll(/"(app\.[a-z_.]+)"/g)].map((one) => one[1]),
    );
    expect(named.length).toBeGreaterThan(150);
    expect([...new Set(named)].filter((key) => !has(key as string))).toEqual([]);
  });

  test("has no message of the app that nothing names", () => {
    const text = Object.values(sources).join("\n");
    const stems = [...text.matchAll(/[`"](app\.[a-z_.]+)/g)].map((one) => one[1] as string);
    const unused = Object.keys(catalogue.value)
      .filter((key) => key.startsWith("app."))
      .filter((key) => !stems.some((stem) => key === stem || (key.startsWith(stem) && stem.endsWith("."))));
    expect(unused).toEqual([]);
  });

  test("can be read, message by message", () => {
    for (const text of Object.values(catalogue.value)) expect(() => parse(text)).not.toThrow();
  });

  test("has words for every kind, field and choice that can be recorded", () => {
    const wanted = Object.entries(knowledge.kinds).flatMap(([kind, rule]) => [
      `app.kind.${kind}`,
      ...Object.entries(rule.fields).flatMap(([field, one]) => [
        `app.field.${field}`,
        ...(one.choices ?? []).map((choice) => `app.choice.${field}.${choice}`),
      ]),
    ]);
    expect(wanted.filter((key) => !has(key) && !/choice\.(action)\./.test(key))).toEqual([]);
  });

  test("has words for everything that can be set up", () => {
    const wanted = Object.values(knowledge.setup).flatMap((fields) =>
      Object.entries(fields).flatMap(([field, one]) => [
        `app.field.${field}`,
        ...(one.choices ?? []).map((choice) => `app.choice.${field}.${choice}`),
      ]),
    );
    const byHand = wanted.filter((key) => !key.endsWith(".air_by_month_c"));
    expect(byHand.filter((key) => !has(key))).toEqual([]);
    expect(stationTypes.map((type) => t(`app.choice.type.${type}`))).toHaveLength(4);
  });
});
