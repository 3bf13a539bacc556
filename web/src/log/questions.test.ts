import { expect, test } from "vitest";
import type { Entry } from "./entry";
import { questions } from "./questions";

const now = new Date("2026-03-10T08:00:00Z");
const asked = (id: string, day: string): Entry => ({
  id,
  kind: "question",
  at: `${day}T08:00:00Z`,
  text: "?",
});
const answered = (id: string, of: string, day: string): Entry => ({
  id,
  kind: "answer",
  at: `${day}T09:00:00Z`,
  of,
  text: "!",
});
const shown = (...newest: Entry[]) => questions(newest, now).map((one) => [one.asked.id, one.answers.length]);

test("a question stays until somebody has answered, however old it is", () => {
  expect(shown(asked("q2", "2026-03-09"), asked("q1", "2025-01-01"))).toEqual([
    ["q2", 0],
    ["q1", 0],
  ]);
});

test("an answer stays in sight for a week, all answers with it", () => {
  expect(shown(answered("a1", "q1", "2026-03-08"), asked("q1", "2026-02-01"))).toEqual([["q1", 1]]);
  expect(shown(answered("a1", "q1", "2026-02-08"), asked("q1", "2026-02-01"))).toEqual([]);
});

test("an answer to nothing shows nothing", () => {
  expect(shown(answered("a1", "gone", "2026-03-09"))).toEqual([]);
});
