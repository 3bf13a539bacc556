import { expect, test } from "vitest";
import type { Station } from "./holding";
import { boxes } from "./known_names";

const hive = (stack: readonly string[]): Station =>
  ({ id: "hive", plan: { state: { stack: stack.map((box) => ({ box })) } } }) as unknown as Station;

test("a hive offers the boxes that stand in it, from above, but none whose name nobody wrote", () => {
  const made = "box-0190f3c2-7e4b-7c1d-9f00-1234567890ab";
  expect(boxes(hive(["start-1", "box-3", made, "red"]))).toEqual(["start-1", "box-3", "red"]);
});

test("a hive of which nothing is planned offers no box", () => {
  expect(boxes({ id: "hive" } as unknown as Station)).toEqual([]);
});
