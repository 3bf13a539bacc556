import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import type { Fold, Part } from "../../core/fold";
import type { Route } from "../../generated/shapes";
import { type Here, said } from "../../here";
import { openHolding } from "../../log/holding";
import { openIndexed } from "../../log/indexed";
import { type Journal, openJournal } from "../../log/journal";
import { testService } from "../../testing/service";
import { type Bucket, openBucket } from "./bucket";

const because = { key: "router.best", values: {}, entries: [], constants: [] };
const route: Route = {
  at: "2026-03-01T07:30:00+01:00",
  bucket: [],
  shares: [
    {
      material: "vegetable_scraps",
      kg: 1,
      where: "station",
      station: "trough",
      side: "a",
      amounts: [{ container: "pail", filled: 0.4 }],
      until: null,
      cautions: [],
      because,
    },
    {
      material: "vegetable_scraps",
      kg: 0.5,
      where: "station",
      station: "stair",
      side: null,
      amounts: [{ container: "pail", filled: 0.1 }],
      until: null,
      cautions: [],
      because,
    },
    {
      material: "fish_heads",
      kg: 2,
      where: "keep",
      station: null,
      side: null,
      amounts: [{ value: 2, unit: "kg" }],
      until: null,
      cautions: [],
      because,
    },
  ],
  together: [
    { material: "cardboard", kg: 0.2, station: "trough", side: "a", because },
    { material: "water", kg: 0.3, station: "stair", side: null, because },
  ],
  stations: [],
  warnings: [],
  constants: {},
};

let journal: Journal;
let bucket: Bucket;
let answers: ((bucket: readonly Part[]) => Promise<Route | null>)[];

const half = { container: "pail", filled: 0.5 };

beforeEach(async () => {
  vi.stubGlobal("indexedDB", new IDBFactory());
  const service = testService();
  service.cut.before = true;
  const storage = await openIndexed();
  journal = openJournal(await storage.load(), {
    storage,
    wire: service.wire,
    planner: { plan: async () => null },
    now: () => new Date(),
    exclusive: (work) => work(),
    tell: () => undefined,
  });
  const set = (what: string, item: string, fields: object) => ({ kind: "setup", what, item, set: fields });
  await journal.save([
    set("station", "trough", { type: "bed", name: "Trough" }),
    set("station", "stair", { type: "bin", name: "Bin" }),
    set("container", "pail", { name: "Pail", full_mass: { value: 5, unit: "kg" } }),
  ]);
  answers = [];
  const fold = { route: (asked: readonly Part[]) => answers.shift()?.(asked) ?? Promise.resolve(null) };
  bucket = openBucket({ journal, holding: openHolding(journal), fold: fold as Fold } as unknown as Here);
});
afterEach(() => journal.stop());

test("two presses say half a pail of one thing", () => {
  bucket.choose("vegetable_scraps");
  bucket.amount(0, half, true);
  expect(bucket.known.value).toEqual([{ feedstock: "vegetable_scraps", amount: half }]);
  expect(bucket.open.value).toBeNull();
});

test("what has no amount yet, or one that can't be, is not asked about", () => {
  bucket.choose("bread");
  bucket.amount(0, { container: "tub", filled: 1 }, false);
  bucket.choose("fish_heads");
  expect(bucket.known.value).toEqual([]);
});

test("the phone's own planner is asked first, then the service, and nobody is a plain answer", async () => {
  bucket.choose("vegetable_scraps");
  bucket.amount(0, half, true);
  answers = [async () => route];
  await bucket.ask();
  expect(bucket.answer.value?.by).toBe("phone");
  await bucket.ask();
  expect(bucket.answer.value).toEqual({ by: "nobody", route: null });
});

test("an answer that comes late doesn't take the place of a newer one", async () => {
  bucket.choose("vegetable_scraps");
  bucket.amount(0, half, true);
  let late: (found: Route | null) => void = () => undefined;
  answers = [
    () =>
      new Promise((done) => {
        late = done;
      }),
    async () => route,
  ];
  const first = bucket.ask();
  await bucket.ask();
  late({ ...route, shares: [] });
  await first;
  expect(bucket.answer.value?.route?.shares).toHaveLength(3);
});

test("one press records a feed for each share that goes in, and one takes them all back", async () => {
  bucket.choose("vegetable_scraps");
  bucket.amount(0, half, true);
  answers = [async () => route];
  await bucket.ask();
  bucket.toggle("trough a cardboard");
  bucket.toggle("stair  water");
  expect(await bucket.record()).toBe(true);
  const made = journal.entries.value.filter((entry) => entry.kind !== "setup");
  expect(
    made.map(({ kind, station, side, feedstock, amount }) => [kind, station, side, feedstock, amount]),
  ).toEqual(
    expect.arrayContaining([
      ["feed", "trough", "a", "vegetable_scraps", { container: "pail", filled: 0.4 }],
      ["feed", "stair", undefined, "vegetable_scraps", { container: "pail", filled: 0.1 }],
      ["feed", "trough", "a", "cardboard", { value: 0.2, unit: "kg" }],
      ["water", "stair", undefined, undefined, { value: 0.3, unit: "L" }],
    ]),
  );
  expect(made).toHaveLength(4);
  await said.value?.undo?.();
  expect(journal.entries.value.filter((entry) => entry.kind === "feed" || entry.kind === "water")).toEqual(
    [],
  );
});

test("an unusual amount is asked about once, and then recorded", async () => {
  const much = {
    ...route,
    shares: [{ ...(route.shares[0] as Route["shares"][0]), amounts: [{ value: 80, unit: "kg" }] }],
  };
  bucket.choose("vegetable_scraps");
  bucket.amount(0, { value: 80, unit: "kg" }, true);
  answers = [async () => much];
  await bucket.ask();
  expect(await bucket.record()).toBe(false);
  expect(bucket.finding.value).toMatchObject({ code: "unusual", ask: true });
  expect(await bucket.record()).toBe(true);
});
