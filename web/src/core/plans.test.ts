import { expect, test } from "vitest";
import { type Basis, replaces } from "./plans";

const basis = (upTo: number, order: number, by: Basis["by"] = "phone"): Basis => ({
  by,
  upTo,
  order,
  knows: 9,
});

test("a plan that knows more of what was recorded here wins, whenever it was asked for", () => {
  expect(replaces(basis(5, 1), basis(4, 2, "service"))).toBe(true);
  expect(replaces(basis(4, 9, "service"), basis(5, 1))).toBe(false);
});

test("of two that know as much the one asked for later wins, whoever made it", () => {
  expect(replaces(basis(5, 3, "service"), basis(5, 2))).toBe(true);
  expect(replaces(basis(5, 3), basis(5, 2, "service"))).toBe(true);
  expect(replaces(basis(5, 2), basis(5, 3, "service"))).toBe(false);
});

test("any plan is better than none, and than one that doesn't say what it knows", () => {
  expect(replaces(basis(0, 1), null)).toBe(true);
  expect(replaces(basis(0, 1), {})).toBe(true);
});
