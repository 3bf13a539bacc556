import { expect, test, vi } from "vitest";
import type { Month } from "../../generated/shapes";
import { daysOf } from "./period";
import { monthsCsv } from "./reports";

const month = (name: string, streams: Record<string, number>): Month => ({
  month: name,
  streams,
  rejected_kg: 1,
  net_kg: 9.5,
  low: 8,
  high: 11,
  measured_kg: 5,
  estimated_kg: 5.5,
  dry_kg: 2,
  outputs: {},
});

test("months become a table other programmes open: one line each, a column a stream, nothing left empty", () => {
  expect(
    monthsCsv([month("2026-01", { kitchen: 10 }), month("2026-02", { fish: 0.5 })]).split("\r\n"),
  ).toEqual([
    "month,net_kg,low,high,measured_kg,estimated_kg,rejected_kg,fish_kg,kitchen_kg",
    "2026-01,9.5,8,11,5,5.5,1,0,10",
    "2026-02,9.5,8,11,5,5.5,1,0.5,0",
    "",
  ]);
});

test("a stream somebody named with a comma or a sign spoils no table", () => {
  const [head] = monthsCsv([month("2026-01", { "=pulp, pressed": 1 })]).split("\r\n");
  expect(head?.endsWith(`,"'=pulp, pressed_kg"`)).toBe(true);
});

test("a month is its own days, and this one ends today", () => {
  vi.setSystemTime(new Date(2026, 10, 25, 12));
  expect(daysOf("2026-02")).toEqual(["2026-02-01", "2026-02-28"]);
  expect(daysOf("2024-02")).toEqual(["2024-02-01", "2024-02-29"]);
  expect(daysOf("2026-11")).toEqual(["2026-11-01", "2026-11-25"]);
  vi.useRealTimers();
});
