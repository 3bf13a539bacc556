import { expect, test } from "vitest";
import { movedTo, rfc3339, writtenMinute } from "./clock";

test("a time is shown and put right by the clock it was written with, whatever zone the phone is in", () => {
  const at = "2026-11-29T07:29:40+13:45";
  expect(writtenMinute(at)).toBe("2026-11-29T07:29");
  expect(movedTo(at, "2026-11-29T08:05")).toBe("2026-11-29T08:05:00+13:45");
  expect(movedTo("2026-11-29T07:29:40-03:30", "2026-11-28T23:59")).toBe("2026-11-28T23:59:00-03:30");
});

test("a time in UTC goes by the phone's own clock both ways", () => {
  const at = "2026-11-29T07:29:00Z";
  expect(Date.parse(movedTo(at, writtenMinute(at)))).toBe(Date.parse(at));
  expect(movedTo(at, "2026-11-29T09:00")).toBe(rfc3339(new Date("2026-11-29T09:00")));
});
