import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { testService } from "../testing/service";
import type { Draft } from "./entry";
import { type Holding, openHolding } from "./holding";
import { openIndexed } from "./indexed";
import { type Journal, openJournal } from "./journal";
import { openRounds } from "./round";

let journal: Journal;
let holding: Holding;

const setup = (what: string, item: string, set: object): Draft => ({ kind: "setup", what, item, set });

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
  holding = openHolding(journal);
  await journal.save([
    setup("station", "pond", { type: "pond", name: "Pond", order: 2 }),
    setup("station", "trough", { type: "bed", name: "Trough", order: 1, feeding_side: "b" }),
    setup("container", "pail", { name: "Pail", volume: { value: 2, unit: "gallon" } }),
  ]);
});
afterEach(() => journal.stop());

test("stations set up with no service are there at once, in walking order", () => {
  expect(holding.stations.value.map((one) => one.name)).toEqual(["Trough", "Pond"]);
  expect(holding.known.value.stations.get("trough")).toBe("bed");
});

test("what was retired is no longer offered", async () => {
  await journal.save([
    setup("station", "pond", { retired: true }),
    setup("container", "pail", { retired: true }),
  ]);
  expect(holding.stations.value.map((one) => one.id)).toEqual(["trough"]);
  expect(holding.containers.value).toEqual([]);
});

test("the side being fed is the one set up, until a switch is recorded", async () => {
  expect(holding.feedingSide("trough")).toBe("b");
  await journal.save([{ kind: "switch", station: "trough", side: "a" }]);
  expect(holding.feedingSide("trough")).toBe("a");
});

test("a container's volume is known in litres, whatever unit it was given in", () => {
  expect(holding.containers.value[0]?.litres).toBeCloseTo(7.5708, 4);
});

test("what was fed lately is offered first", async () => {
  const known = holding.feedstocksFor("bed");
  const last = [...known.near, ...known.far].at(-1) as string;
  await journal.save([
    { kind: "feed", station: "trough", side: "a", feedstock: last, amount: { value: 1, unit: "kg" } },
  ]);
  expect(holding.feedstocksFor("bed").near[0]).toBe(last);
});

test("a bucket offers a few scraps first, of a place too where nothing was fed yet, and none twice", () => {
  const { near, far } = holding.scraps();
  expect(near.length).toBeGreaterThan(3);
  expect(near.length).toBeLessThan(far.length);
  expect(near).not.toContain("cardboard");
  expect(new Set([...near, ...far]).size).toBe(near.length + far.length);
});

test("a round counts each station once, survives in the store, and becomes one entry", async () => {
  const rounds = openRounds(journal);
  await rounds.pass("trough");
  expect(rounds.walk.value).toBeNull();
  await rounds.start();
  await rounds.pass("trough");
  await rounds.pass("trough");
  await rounds.pass("pond");
  await rounds.finish();
  expect(rounds.walk.value).toBeNull();
  expect(journal.entries.value[0]).toMatchObject({ kind: "round", passed: ["trough", "pond"] });
});
