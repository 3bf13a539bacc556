import { expect, test } from "vitest";
import { layout, uuid7 } from "./uuid7";

test("an id is laid out as the worked example of RFC 9562 (appendix A.6)", () => {
  const id = layout(0x017f22e279b0, 0xcc3, 0x18c4dc0c0c07398fn);
  expect(id.toUpperCase()).toBe("017F22E2-79B0-7CC3-98C4-DC0C0C07398F");
});

test("ids made one after another sort in that order, even if the clock steps back", () => {
  const now = Date.UTC(2031, 4, 1);
  const made = [0, 0, 0, 5, 3, 1, 5].map((later) => uuid7(now + later));
  const many = Array.from({ length: 10_000 }, () => uuid7(now + 5));
  const all = [...made, ...many];
  expect(all).toEqual([...all].sort());
  expect(new Set(all).size).toBe(all.length);
});

test("an id has the version and the variant the standard asks for", () => {
  expect(uuid7()).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
});
