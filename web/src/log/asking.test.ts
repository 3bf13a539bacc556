import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import type { Plan } from "../generated/shapes";
import { testService } from "../testing/service";
import { findingWords } from "../words/findings";
import { asked, leftToday, weight } from "./asking";
import { type Holding, openHolding } from "./holding";
import { openIndexed } from "./indexed";
import { type Journal, openJournal } from "./journal";
import { knowledge } from "./knowledge";

let journal: Journal;
let holding: Holding;

/** The words of a finding, with plain spaces. */
const said = (found: Parameters<typeof findingWords>[0] | null) =>
  found && findingWords(found).replaceAll("\u00a0", " ");
const kg = (value: number) => ({ value, unit: "kg" });

beforeEach(async () => {
  vi.stubGlobal("indexedDB", new IDBFactory());
  const service = testService();
  service.cut.before = true;
  const tally = {
    feed_limit: { kg: 9.6, streams: ["kitchen"], because: { values: { people: 2 } } },
    by_station: [{ id: "trough", kg: 20, rejected_kg: 5 }],
  };
  const place = { people: [], containers: [], feedstocks: knowledge.feedstocks };
  const stations = [
    { id: "cellar", type: "bed", order: 1, ration: { kg: 1.87, low: 1.53, high: 2.18, side: "b" } },
  ];
  const plan = { at: new Date().toISOString(), tally, place, stations } as unknown as Plan;
  const storage = await openIndexed();
  journal = openJournal(await storage.load(), {
    storage,
    wire: service.wire,
    planner: { plan: async () => plan },
    now: () => new Date(),
    exclusive: (work) => work(),
    tell: () => undefined,
  });
  holding = openHolding(journal);
  await journal.save([
    { kind: "setup", what: "container", item: "pail", set: { full_mass: kg(5) } },
    { kind: "setup", what: "container", item: "crock", set: { volume: { value: 3000, unit: "mL" } } },
  ]);
  await vi.waitFor(() => expect(holding.plan.value).not.toBeNull());
});
afterEach(() => journal.stop());

const feed = (amount: unknown, feedstock = "vegetable_scraps") => ({
  kind: "feed",
  station: "trough",
  feedstock,
  amount,
});

test("an amount weighs what the scale, the container's weighing or the shipped density says", () => {
  const density = knowledge.feedstocks.find((one) => one.id === "bread")?.kg_per_l ?? Number.NaN;
  expect(weight(kg(2), "bread", holding)).toBe(2);
  expect(weight({ container: "pail", filled: 0.5 }, "bread", holding)).toBe(2.5);
  expect(weight({ container: "crock", filled: 2 }, "bread", holding)).toBeCloseTo(6 * density, 9);
  expect(weight({ value: 4, unit: "L" }, "bread", holding)).toBeCloseTo(4 * density, 9);
  expect(weight({ value: 4, unit: "L" }, "seaweed", holding)).toBeNull();
});

test("what may still go in is counted down from the ration as it is told, not from digits nobody sees", () => {
  const cellar = { ...feed(kg(1)), station: "cellar", side: "b" };
  expect(leftToday(cellar, holding, journal)).toBe(1.9);
  expect(asked({ ...cellar, amount: kg(1.9) }, holding, journal)).toBeNull();
  expect(asked({ ...cellar, amount: kg(2) }, holding, journal)).toMatchObject({ code: "over_ration" });
});

test("a feed above what those who eat here throw away in a week is asked about", () => {
  const found = asked(feed(kg(12)), holding, journal);
  expect(found).toMatchObject({ code: "feed_large", ask: true, field: "" });
  expect(said(found)).toBe("12 kg at once is more than 2 people throw away in a week. Is it right?");
  expect(asked(feed(kg(9)), holding, journal)).toBeNull();
});

test("what isn't kitchen scraps is not held against the people who eat here", () => {
  expect(asked(feed(kg(12), "fish_heads"), holding, journal)).toBeNull();
  expect(asked(feed(kg(12), "leaves"), holding, journal)).toBeNull();
});

test("a reject larger than what was put in is asked about, with what was fed since the plan", async () => {
  const reject = (value: number) => ({ ...feed(kg(value)), kind: "reject", to: "landfill" });
  expect(asked(reject(15), holding, journal)).toBeNull();
  const found = asked(reject(16), holding, journal);
  expect(found).toMatchObject({ code: "reject_larger", ask: true, values: { kg: 21, fed_kg: 20 } });
  expect(said(found)).toContain("only 20 kg were put in");
  await journal.save([feed(kg(3))]);
  expect(asked(reject(16), holding, journal)).toBeNull();
  expect(asked({ ...reject(90), to: "burial" }, holding, journal)).toBeNull();
});

test("a feed above what is left of today's ration is asked about, with what went in since the plan", async () => {
  const here = (value: number, more: object = {}) => ({
    ...feed(kg(value)),
    station: "cellar",
    side: "b",
    ...more,
  });
  expect(asked(here(1.9), holding, journal)).toBeNull();
  const found = asked(here(2.9), holding, journal);
  expect(found).toMatchObject({ code: "over_ration", ask: true, values: { kg: 2.9, left: 1.9 } });
  expect(said(found)).toBe(
    "2.9 kg is more than may still go in today: 1.9 kg. Keep the rest back, or save it if it is in already.",
  );
  await journal.save([here(1)]);
  expect(asked(here(0.9), holding, journal)).toBeNull();
  expect(asked(here(1), holding, journal)).toMatchObject({ code: "over_ration" });
  await journal.save([here(1)]);
  const none = asked(here(0.1), holding, journal);
  expect(said(none)).toBe("Nothing more should go in today. Keep it back, or save it if it is in already.");
});

test("bedding, the resting side and another day count against no ration of today", () => {
  const here = { ...feed(kg(5)), station: "cellar", side: "b" };
  expect(leftToday(here, holding, journal)).toBe(1.9);
  expect(leftToday({ ...here, feedstock: "cardboard" }, holding, journal)).toBeNull();
  expect(leftToday({ ...here, side: "a" }, holding, journal)).toBeNull();
  expect(leftToday({ ...here, at: "2026-01-02T08:00:00+01:00" }, holding, journal)).toBeNull();
  expect(leftToday({ ...here, station: "trough" }, holding, journal)).toBeNull();
});
