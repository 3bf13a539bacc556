import { expect, test } from "vitest";
import type { StationPlan } from "../generated/shapes";
import { lastSeen } from "./seen";

const entry = (at: string, by: string) => ({
  id: at,
  kind: "signs",
  station: "bed",
  device: "d",
  at,
  noted_at: at,
  by,
});
const planned = (at: string | null) =>
  ({ last_seen: at === null ? null : { at, by: "ana" } }) as unknown as StationPlan;

test("of what the log and the plan tell, the later counts, whatever zone it is written in", () => {
  const log = [entry("2026-05-02T08:00:00+02:00", "ben")];
  const at = (plan: string | null) => lastSeen(log, { id: "bed", plan: planned(plan) })?.by;
  expect(at("2026-05-02T06:30:00Z")).toBe("ana");
  expect(at("2026-05-02T07:30:00+02:00")).toBe("ben");
  expect(at(null)).toBe("ben");
});

test("where the log tells nothing of a station the plan does, and nobody was there if neither does", () => {
  expect(lastSeen([], { id: "bed", plan: planned("2026-05-02T06:30:00Z") })?.by).toBe("ana");
  expect(lastSeen([], { id: "bed", plan: planned(null) })).toBeNull();
  expect(lastSeen([entry("2026-05-02T08:00:00Z", "ben")], { id: "bin", plan: undefined })).toBeNull();
});

test("whoever passed a station on a round has seen it, though nothing was noted there", () => {
  const { station: _, ...anywhere } = entry("2026-05-03T08:00:00Z", "kit");
  const round = { ...anywhere, kind: "round", passed: ["bed", "hive"] };
  const log = [round, entry("2026-05-02T08:00:00Z", "ben")];
  const by = (id: string) => lastSeen(log, { id, plan: undefined })?.by;
  expect(by("hive")).toBe("kit");
  expect(by("bed")).toBe("kit");
  expect(by("pond")).toBeUndefined();
});

test("what is dated ahead has not been seen yet", () => {
  const log = [entry("2026-05-02T11:00:00Z", "kit"), entry("2026-05-02T08:00:00Z", "ben")];
  const by = (now: string) => lastSeen(log, { id: "bed", plan: undefined }, new Date(now))?.by;
  expect(by("2026-05-02T09:00:00Z")).toBe("ben");
  expect(by("2026-05-02T11:00:00Z")).toBe("kit");
});
