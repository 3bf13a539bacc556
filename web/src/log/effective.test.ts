import { expect, test } from "vitest";
import { effective } from "./effective";
import type { Entry } from "./entry";
import { foldSetUp } from "./place";

const at = (minute: number) => `2026-03-01T07:${String(minute).padStart(2, "0")}:00+01:00`;
const reading: Entry = { id: "r", kind: "reading", at: at(0), moisture_pct: 70 };
const replace = (id: string, minute: number, change: object, of = "r"): Entry => ({
  id,
  kind: "correction",
  at: at(minute),
  of,
  action: "replace",
  with: change,
});
const retract = (id: string, minute: number, of = "r"): Entry => ({
  id,
  kind: "correction",
  at: at(minute),
  of,
  action: "retract",
});

function shuffles<T>(all: readonly T[]): T[][] {
  if (all.length < 2) return [[...all]];
  return all.flatMap((one, at) =>
    shuffles(all.filter((_, other) => other !== at)).map((rest) => [one, ...rest]),
  );
}

test("an entry that was taken back is gone, unless the taking back was taken back", () => {
  expect(effective([reading, retract("x", 1)])).toEqual([]);
  expect(effective([reading, retract("x", 1), retract("y", 2, "x")])).toEqual([reading]);
});

test("of several replacements the later wins field by field, in whatever order they came", () => {
  const log = [
    reading,
    replace("x", 1, { moisture_pct: 60, note: "one" }),
    replace("y", 2, { moisture_pct: 50 }),
  ];
  for (const order of shuffles(log)) {
    expect(effective(order)).toEqual([{ ...reading, moisture_pct: 50, note: "one" }]);
  }
});

test("a replacement changes neither id nor kind", () => {
  const [changed] = effective([reading, replace("x", 1, { id: "other", kind: "feed" })]);
  expect(changed).toMatchObject({ id: "r", kind: "reading" });
});

test("set-up is folded field by field, ties by id", () => {
  const set = (id: string, minute: number, fields: object): Entry => ({
    id,
    kind: "setup",
    at: at(minute),
    what: "station",
    item: "bed",
    set: fields,
  });
  const log = [
    set("1", 0, { type: "bed", name: "Bed" }),
    set("2", 5, { name: "Trough" }),
    set("3", 5, { order: 2 }),
  ];
  for (const order of shuffles(log)) {
    const item = foldSetUp(effective(order))["station"]?.get("bed");
    expect(item?.fields).toEqual({ type: "bed", name: "Trough", order: 2 });
  }
});
