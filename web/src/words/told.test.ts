import { expect, test } from "vitest";
import "../testing/words";
import type { Entry } from "../log/entry";
import type { Holding } from "../log/holding";
import { entryWords, setUpWords } from "./told";

const holding = {
  item: (_what: string, id: string) => (id === "pail" ? { fields: { name: "Grey pail" } } : undefined),
} as unknown as Holding;
const setUp = (what: string, item: string, set: object) =>
  ({ id: "x", kind: "setup", at: "2026-03-01T08:00:00Z", what, item, set }) as unknown as Entry;

test("a thing that is set up goes by its name, never by the id the phone gave it", () => {
  const said = (...given: Parameters<typeof setUp>) => entryWords(setUp(...given), holding);
  expect(said("container", "crock", { name: "Butter crock" })).toBe("Set-up: Container, Butter crock");
  expect(said("container", "pail", { full_mass: { value: 5, unit: "kg" } })).toBe(
    "Set-up: Container, Grey pail",
  );
  expect(said("place", "place", { time_zone: "Europe/Lisbon" })).toBe("Set-up: Place");
  expect(said("container", "gone", {})).toBe("Set-up: Container, gone");
});

test("what a set-up would change is told a line a field", () => {
  const set = {
    name: "Pail",
    full_mass: { value: 5, unit: "kg" },
    volume: { value: 8, unit: "L" },
    retired: true,
  };
  expect(
    setUpWords(setUp("container", "pail", set), holding).map((one) => one.replaceAll("\u00a0", " ")),
  ).toEqual(["Weight when full: 5 kg", "Volume: 8 L", "No longer in use: yes"]);
});
