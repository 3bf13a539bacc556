import { expect, test } from "vitest";
import { go, leave, route } from "./route";

test("whoever has gone on while something was saved is not taken from where they are", () => {
  go(["entry", "one"], true);
  const from = location.hash;
  go(["pond_day", "pond"], true);
  leave(["round"], from);
  expect(route.value).toEqual(["pond_day", "pond"]);
  leave(["round"]);
  expect(route.value).toEqual(["round"]);
});
