import { expect, test } from "vitest";
import type { Entry } from "./entry";
import { usual } from "./usual";

const half = (container: string) => ({ container, filled: 0.5 });
const fed = (id: string, by: string, feedstock: string, amount: unknown, station = "bed"): Entry => ({
  id,
  kind: "feed",
  at: "2026-03-01T08:00:00Z",
  station,
  by,
  feedstock,
  amount,
});

const log = [
  fed("e5", "kit", "cardboard", { value: 50, unit: "g" }),
  fed("e4", "kit", "peelings", half("caddy")),
  fed("e3", "ana", "grounds", half("pail")),
  fed("e2", "ana", "peelings", half("pail"), "bin"),
];
const asked = (person: string, containers = ["pail", "caddy"], newest = log) =>
  usual(newest, "bed", person, containers, ["cardboard", "peelings", "grounds"]);

test("what I last carried here comes first, else what anybody did", () => {
  expect(asked("ana")).toEqual({ container: "pail", feedstock: "grounds" });
  expect(asked("kit")).toEqual({ container: "caddy", feedstock: "peelings" });
  expect(asked("")).toEqual({ container: "caddy", feedstock: "peelings" });
});

test("a container that is gone is not offered, and where nobody filled one the first is", () => {
  expect(asked("kit", ["pail"])).toEqual({ container: "pail", feedstock: "grounds" });
  expect(asked("kit", ["pail"], log.slice(0, 1))).toEqual({ container: "pail", feedstock: "cardboard" });
});

test("with no container or nothing that may go in there is nothing usual", () => {
  expect(asked("kit", [])).toBeNull();
  expect(usual([], "bed", "", ["pail"], [])).toBeNull();
});
