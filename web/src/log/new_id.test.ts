import { expect, test } from "vitest";
import { newId } from "./new_id";

test("an id is made of the letters and digits of the name", () => {
  expect(newId("Étang  du haut!", new Set(), "pond")).toBe("etang-du-haut");
});

test("a name with no such letter falls back on what the thing is", () => {
  expect(newId("水槽", new Set(), "bed")).toBe("bed");
});

test("an id that is taken gets the next free number", () => {
  expect(newId("Pail", new Set(["pail", "pail-2"]), "container")).toBe("pail-3");
});
