import { signal } from "@preact/signals";
import { expect, test, vi } from "vitest";
import { startBadge } from "./badge";
import type { Reminders } from "./log/reminders";

const count = (now: number): Reminders => ({
  now: Array.from({ length: now }) as Reminders["now"],
  putOff: [],
  later: [],
});

test("the icon shows how many matters ask, and nothing when none does", () => {
  const setAppBadge = vi.fn(async () => undefined);
  const clearAppBadge = vi.fn(async () => undefined);
  const reminders = signal(count(2));
  startBadge(reminders, { setAppBadge, clearAppBadge });
  reminders.value = count(2);
  reminders.value = count(0);
  expect(setAppBadge.mock.calls).toEqual([[2]]);
  expect(clearAppBadge).toHaveBeenCalledOnce();
});

test("a phone without such a thing, or that forbids it, goes on", () => {
  startBadge(signal(count(1)), {});
  startBadge(signal(count(1)), { setAppBadge: () => Promise.reject(new Error("no")) });
});
