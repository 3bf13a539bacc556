import { expect, test } from "vitest";
import type { Limit } from "../generated/shapes";
import { crossed } from "./limits";

const limit = (change: Partial<Limit>): Limit => ({
  station: "bed",
  side: null,
  field: "temperature",
  unit: "degC",
  above: null,
  below: null,
  level: "caution",
  code: "hot",
  ...change,
});
const limits = [
  limit({ above: 30 }),
  limit({ above: 32, level: "danger", code: "deadly" }),
  limit({ below: 10, level: "note", code: "cool" }),
  limit({ field: "ph", unit: "1", below: 6, code: "sour" }),
];
const at = (value: number, unit = "degC") => ({ station: "bed", temperature: { value, unit } });

test("of several limits on one field the gravest is told", () => {
  expect(crossed(at(34), limits).map((one) => one.limit.code)).toEqual(["deadly"]);
  expect(crossed(at(31), limits).map((one) => one.limit.code)).toEqual(["hot"]);
});

test("a value on a limit doesn't cross it", () => {
  expect(crossed(at(30), limits)).toEqual([]);
});

test("a reading in another unit is turned before it is compared", () => {
  expect(crossed(at(93.2, "degF"), limits)).toMatchObject([{ limit: { code: "deadly" } }]);
});

test("limits of another station, or of the other side, are left alone", () => {
  expect(crossed({ ...at(34), station: "bin" }, limits)).toEqual([]);
  const sided = [limit({ above: 30, side: "a" })];
  expect(crossed({ ...at(34), side: "b" }, sided)).toEqual([]);
  expect(crossed({ ...at(34), side: "a" }, sided)).toHaveLength(1);
});

test("bare numbers and several fields are each held against their own limit", () => {
  const codes = crossed({ ...at(8), ph: 5.5 }, limits).map((one) => one.limit.code);
  expect(codes.sort()).toEqual(["cool", "sour"]);
});
