import { expect, test } from "vitest";
import { mean } from "./weighings";

const kg = (value: number) => ({ value, unit: "kg" });

test("weighings of one container make one weight, however often it was weighed", () => {
  expect(mean([kg(5.2)])).toEqual(kg(5.2));
  expect(mean([kg(5), kg(6), kg(5.5)])).toEqual(kg(5.5));
  expect(mean([kg(1), kg(1), kg(2)])).toEqual(kg(1.3333));
});

test("weights in two units are not put together unseen", () => {
  expect(mean([kg(5), { value: 11, unit: "lb" }])).toBeNull();
  expect(mean([])).toBeNull();
});
