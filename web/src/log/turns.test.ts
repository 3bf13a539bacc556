import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { testLocks } from "../testing/locks";
import { inTurn } from "./turns";

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

test("pages go one after the other", async () => {
  const locks = testLocks();
  const [one, other] = [inTurn(locks), inTurn(locks)];
  const order: string[] = [];
  const first = one(async () => {
    await new Promise((done) => setTimeout(done, 5_000));
    order.push("one");
  });
  const second = other(async () => {
    order.push("other");
  });
  await vi.advanceTimersByTimeAsync(5_000);
  await Promise.all([first, second]);
  expect(order).toEqual(["one", "other"]);
});

test("a page frozen in the middle of its turn does not keep the others from sending for ever", async () => {
  const locks = testLocks();
  void inTurn(locks)(() => new Promise(() => undefined));
  const sent = inTurn(locks)(async () => "sent");
  await vi.advanceTimersByTimeAsync(61_000);
  expect(await sent).toBe("sent");
});

test("work that takes longer than the patience is done once, and what it throws is heard", async () => {
  const work = vi.fn(async () => {
    await new Promise((done) => setTimeout(done, 90_000));
    throw new Error("full");
  });
  const done = expect(inTurn(testLocks())(work)).rejects.toThrow("full");
  await vi.advanceTimersByTimeAsync(100_000);
  await done;
  expect(work).toHaveBeenCalledTimes(1);
});
