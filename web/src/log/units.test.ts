import { expect, test } from "vitest";
import { fromSi, symbol, toSi, unitsOf } from "./units";

/* NIST Special Publication 811 (2008), appendix B.9: 1 lb = 0.453 592 37 kg (exact), 1 gal (US) =
   3.785 412 L, t/°C = (t/°F − 32)/1.8. */
test("pounds, gallons and degrees Fahrenheit turn into what the models use, as NIST SP 811 gives them", () => {
  expect(toSi(1, "lb")).toEqual({ value: 0.45359237, unit: "kg" });
  expect(toSi(1, "gallon")?.value).toBeCloseTo(3.785412, 6);
  expect(toSi(131, "degF")).toEqual({ value: 55, unit: "degC" });
});

test("there and back gives the same value", () => {
  for (const unit of ["kg", "g", "oz", "mL", "gallon", "inch", "degF"]) {
    expect(fromSi(toSi(7.3, unit)?.value ?? Number.NaN, unit)).toBeCloseTo(7.3, 12);
  }
});

test("a unit nobody knows gives nothing, and its own name to show", () => {
  expect(toSi(1, "spoon")).toBeNull();
  expect(symbol("spoon")).toBe("spoon");
  expect(symbol("degC")).toBe("°C");
});

test("units of one kind are found by the unit the models use for it", () => {
  expect(unitsOf(["degC"])).toContain("degF");
  expect(unitsOf(["kg"])).not.toContain("L");
});
