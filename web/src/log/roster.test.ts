import { expect, test } from "vitest";
import type { Roster } from "../generated/shapes";
import type { Entry } from "./entry";
import { seenBefore } from "./roster";

const TODAY = "2026-03-20";
const planned = (day: string): Roster => ({
  days: [{ day, people: ["kit"], handed_over: true }],
  seen: ["trough"],
  left: [],
  next: null,
});
const entry = (kind: string, at: string, fields: Record<string, unknown> = {}): Entry => ({
  id: kind,
  kind,
  at,
  ...fields,
});

test("whoever goes on with a round need not go where it has been", () => {
  const noted = [
    entry("signs", `${TODAY}T09:00:00+00:00`, { station: "pond" }),
    entry("round", `${TODAY}T09:10:00+00:00`, { passed: ["hive"] }),
    entry("signs", "2026-03-19T09:00:00+00:00", { station: "bin" }),
  ];
  expect([...seenBefore(planned(TODAY), noted, TODAY)].sort()).toEqual(["hive", "pond", "trough"]);
});

test("what yesterday's plan had seen was not seen today", () => {
  expect(seenBefore(planned("2026-03-19"), [], TODAY).size).toBe(0);
  expect(seenBefore(undefined, [], TODAY).size).toBe(0);
});
