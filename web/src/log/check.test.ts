import { describe, expect, test } from "vitest";
import list from "../../../fixtures/entry_checks.json";
import { check, type Known } from "./check";

const known: Known = {
  stations: new Map(Object.entries(list.known.stations)),
  containers: new Set(list.known.containers),
  feedstocks: new Set(list.known.feedstocks),
  densities: new Set(list.known.densities),
  weighed: new Set(list.known.weighed),
  unmeasured: new Set(list.known.unmeasured),
};

describe("the phone's check says what the service's judge says, of", () => {
  test.each(list.cases.map((one) => [one.case, one] as const))("%s", (_name, one) => {
    const found = check(one.entry as Record<string, unknown>, known);
    const said = found === null || found.ask ? null : { code: found.code, field: found.field };
    expect(said).toEqual(one.problem);
  });
});

const reading = (value: number, unit = "degC") => ({
  kind: "reading",
  station: "trough",
  temperature: { value, unit },
});

test("140 °C asks whether it was read in °F, which makes it 60 °C", () => {
  const found = check(reading(140), known);
  expect(found).toMatchObject({ code: "out_of_range", values: { value: 140, mistaken: 60 } });
});

test("a value that is only unusual is asked about, not refused", () => {
  expect(check(reading(60), known)).toMatchObject({ code: "unusual", ask: true, field: "temperature" });
  expect(check(reading(20), known)).toBeNull();
});

test("what must be mended is told before what is only unusual", () => {
  const both = { ...reading(60), squeeze: "soggy" };
  expect(check(both, known)).toMatchObject({ code: "bad_choice", field: "squeeze" });
});
