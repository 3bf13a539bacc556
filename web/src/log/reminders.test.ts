import { expect, test } from "vitest";
import type { Matter } from "../generated/shapes";
import type { Entry } from "./entry";
import { sorted } from "./reminders";

const NOW = new Date(2026, 2, 20, 9);

const matter = (change: Partial<Matter> = {}): Matter => ({
  id: "bed:feed:a:2026-03-18",
  kind: "routine",
  what: "feed",
  station: "bed",
  side: "a",
  level: "note",
  remind: "2026-03-19",
  since: null,
  due: "2026-03-18",
  earliest: null,
  latest: null,
  late: true,
  put_off_until: null,
  put_off_by: null,
  because: { key: "bed.job.feed", values: {}, entries: [], constants: [] },
  ...change,
});
const entry = (kind: string, fields: Record<string, unknown> = {}): Entry => ({
  id: kind,
  kind,
  at: "2026-03-20T09:00:00+00:00",
  ...fields,
});
const doneBy = ({ what }: Matter) => (what === "look_in" ? undefined : what);
const sort = (matters: Matter[], fresh: Entry[] = []) => sorted(matters, fresh, doneBy, NOW);

test("what an old plan saw coming asks for somebody once its day is there", () => {
  const found = sort([matter({ late: false, remind: "2026-03-20" }), matter({ remind: "2026-03-21" })]);
  expect([found.now.length, found.later.length]).toEqual([1, 1]);
});

test("what was just noted is off the list before anybody has planned anew", () => {
  const fed = entry("feed", { station: "bed", side: "a" });
  expect(sort([matter()], [fed]).now).toEqual([]);
  expect(sort([matter()], [entry("feed", { station: "bed", side: "b" })]).now).toHaveLength(1);
  expect(sort([matter()], [entry("feed", { station: "bin" })]).now).toHaveLength(1);
});

test("any entry at a station is a look at it", () => {
  const look = matter({ what: "look_in", side: null });
  expect(sort([look], [entry("signs", { station: "bed" })]).now).toEqual([]);
});

test("what was just put off waits, and the last word counts", () => {
  const until = (day: string) => entry("snooze", { matter: matter().id, until: day, by: "ana" });
  expect(sort([matter()], [until("2026-03-23")]).putOff[0]?.put_off_by).toBe("ana");
  expect(sort([matter()], [until("2026-03-23"), until("2026-03-20")]).now).toHaveLength(1);
});

test("a danger can't be put off", () => {
  const danger = matter({ level: "danger" });
  expect(sort([danger], [entry("snooze", { matter: danger.id, until: "2027-01-01" })]).now).toHaveLength(1);
});
