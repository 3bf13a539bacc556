import "fake-indexeddb/auto";
import { forceCloseDatabase, IDBFactory } from "fake-indexeddb";
import { beforeEach, expect, test, vi } from "vitest";
import type { Entry, Held } from "./entry";
import { openIndexed } from "./indexed";
import type { Settled, Storage } from "./storage";

const entry = (id: string, fields: Record<string, unknown> = {}): Entry => ({
  id,
  kind: "reading",
  at: "2026-03-01T07:30:00+01:00",
  ...fields,
});
const held = (id: string): Held => ({
  id,
  entry: entry(id),
  code: "unknown_station",
  field: "station",
  why: "no such station",
  values: {},
});
const settled = (change: Partial<Settled>): Settled => ({
  sentUpTo: 0,
  cursor: 0,
  again: false,
  received: [],
  held: [],
  released: [],
  dropped: [],
  ...change,
});

/** Write an answer down that was asked for as the store stands. */
const answered = async (storage: Storage, change: Partial<Settled>) =>
  storage.settle(settled(change), await storage.unsent(1));

beforeEach(() => {
  vi.stubGlobal("indexedDB", new IDBFactory());
});

test("what was saved is there after the app was closed and opened again", async () => {
  const first = await openIndexed();
  await first.save([entry("one"), entry("two")]);
  await first.keep("person", "kit");
  const { unsent, kept } = await (await openIndexed()).load();
  expect(unsent.map((row) => row.entry.id)).toEqual(["one", "two"]);
  expect(kept["person"]).toBe("kit");
});

test("every write asks for the disk by name", async () => {
  const asked: unknown[] = [];
  const plain = IDBDatabase.prototype.transaction;
  vi.spyOn(IDBDatabase.prototype, "transaction").mockImplementation(function (
    this: IDBDatabase,
    ...given: Parameters<typeof plain>
  ) {
    if (given[1] === "readwrite") asked.push(given[2]);
    return plain.apply(this, given);
  });
  const storage = await openIndexed();
  await storage.save([entry("one")]);
  await answered(storage, { sentUpTo: 1 });
  await storage.hold(held("one"));
  await storage.keep("person", "kit");
  expect(asked).toEqual(asked.map(() => ({ durability: "strict" })));
  expect(asked).toHaveLength(4);
});

test("a row leaves the unsent ones only by the mark, and stays in the log", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one"), entry("two")]);
  await answered(storage, { sentUpTo: 1, cursor: 7, received: [entry("other")] });
  const there = await storage.load();
  expect(there.unsent.map((row) => row.entry.id)).toEqual(["two"]);
  expect(there.log.map((one) => one.id).sort()).toEqual(["one", "other"]);
  expect(there.cursor).toBe(7);
});

test("a held entry is not in the log, is kept, and comes into the log when it is released", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one")]);
  await answered(storage, { sentUpTo: 1, held: [held("one")] });
  expect(await storage.load()).toMatchObject({ log: [], unsent: [], held: [{ id: "one" }] });
  await answered(storage, { sentUpTo: 1, released: ["one"] });
  expect(await storage.load()).toMatchObject({ log: [{ id: "one" }], held: [] });
});

test("a held entry that was let go is gone from the log for good", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one"), entry("two")]);
  await answered(storage, { sentUpTo: 2, held: [held("one")] });
  await answered(storage, { sentUpTo: 2, dropped: ["one"] });
  expect(await storage.load()).toMatchObject({ log: [{ id: "two" }], held: [] });
});

test("an entry let in at the moment somebody let it go stays in the log", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one")]);
  await answered(storage, { sentUpTo: 1, held: [held("one")] });
  await storage.save([entry("one", { station: "bed" })]);
  await answered(storage, { sentUpTo: 2, released: ["one"] });
  await storage.hold({ ...held("one"), dropped: true });
  expect(await storage.unsent(9)).toMatchObject({ held: [] });
  expect(await storage.load()).toMatchObject({ log: [{ id: "one", station: "bed" }], held: [] });
});

test("what a person let go is not brought back by a service with another log", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one"), entry("two")]);
  await answered(storage, { sentUpTo: 2, log: "first", held: [held("one")] });
  await storage.hold({ ...held("one"), dropped: true });
  await answered(storage, { sentUpTo: 2, log: "second", again: true });
  expect((await storage.unsent(9)).rows.map((row) => row.entry.id)).toEqual(["two"]);
});

test("an answer that comes after another page has taken sync further is not written down", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one"), entry("two")]);
  const from = await storage.unsent(9);
  await answered(storage, { sentUpTo: 2, cursor: 2 });
  expect(await storage.settle(settled({ sentUpTo: 1, cursor: 1, held: [held("one")] }), from)).toBe(false);
  expect(await storage.load()).toMatchObject({ sentUpTo: 2, cursor: 2, held: [] });
});

test("gathering many sent rows into a block loses none and keeps the unsent ones", async () => {
  const storage = await openIndexed();
  const ids = Array.from({ length: 400 }, (_, n) => `entry-${n}`);
  for (const id of ids) await storage.save([entry(id)]);
  await answered(storage, { sentUpTo: 390, held: [held("entry-3")] });
  const gathered = vi.spyOn(IDBObjectStore.prototype, "add");
  const first = await storage.load();
  await vi.waitFor(() => expect(gathered).toHaveBeenCalled());
  for (const there of [first, await storage.load()]) {
    expect(there.unsent.map((row) => row.entry.id)).toEqual(ids.slice(390));
    const known = [...there.log.map((one) => one.id), ...there.held.map((one) => one.id)].sort();
    expect(known).toEqual(ids.slice(0, 390).sort());
  }
  await storage.save([entry("later")]);
  expect((await storage.unsent(1000)).rows.at(-1)?.entry.id).toBe("later");
});

test("a phone too full to gather its rows opens all the same, and says nothing of it", async () => {
  const storage = await openIndexed();
  const ids = Array.from({ length: 200 }, (_, n) => `entry-${n}`);
  await storage.save(ids.map((id) => entry(id)));
  await answered(storage, { sentUpTo: 200 });
  const complaints = vi.fn();
  process.on("unhandledRejection", complaints);
  const full = vi.spyOn(IDBObjectStore.prototype, "add").mockImplementation(() => {
    throw new DOMException("full", "QuotaExceededError");
  });
  expect((await storage.load()).log).toHaveLength(200);
  await vi.waitFor(() => expect(full).toHaveBeenCalled());
  full.mockRestore();
  expect((await storage.load()).log).toHaveLength(200);
  await new Promise((done) => setTimeout(done, 20));
  process.off("unhandledRejection", complaints);
  expect(complaints).not.toHaveBeenCalled();
});

test("a mended row takes the place of the first try", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one", { note: "wrong" })]);
  await answered(storage, { sentUpTo: 1, held: [held("one")] });
  await storage.save([entry("one", { note: "right" })]);
  await answered(storage, { sentUpTo: 2, released: ["one"] });
  const { log } = await storage.load();
  expect(log).toEqual([entry("one", { note: "right" })]);
});

test("a service with another log gets held entries too, also those whose row was gathered up", async () => {
  const storage = await openIndexed();
  const ids = Array.from({ length: 200 }, (_, n) => `entry-${n}`);
  for (const id of ids) await storage.save([entry(id)]);
  await answered(storage, { sentUpTo: 200, log: "first", held: [held("entry-3")] });
  await storage.load();
  await answered(storage, { sentUpTo: 200, log: "second", again: true });
  const again = (await storage.unsent(1000)).rows.map((row) => row.entry.id);
  expect(again.sort()).toEqual(ids.sort());
});

test("what another log has under an id of ours, and says otherwise, does not keep ours from going out", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one"), entry("two")]);
  await answered(storage, { sentUpTo: 2, log: "first" });
  const received = [entry("one", { note: "other" }), { ...entry("two"), seq: 2, received_at: "then" }];
  await answered(storage, { sentUpTo: 2, log: "second", again: true, received });
  expect((await storage.unsent(9)).rows.map((row) => row.entry)).toEqual([entry("one")]);
});

test("with twenty thousand entries on the phone, one more is one write, and reads nothing", async () => {
  const storage = await openIndexed();
  const many = Array.from({ length: 10_000 }, (_, n) => n);
  await storage.save(many.map((n) => entry(`here-${n}`)));
  await answered(storage, { cursor: 10_000, received: many.map((n) => entry(`there-${n}`)) });
  const transactions = vi.spyOn(IDBDatabase.prototype, "transaction");
  const writes = vi.spyOn(IDBObjectStore.prototype, "add");
  const others = (
    ["put", "delete", "clear", "get", "getAll", "getAllKeys", "count", "openCursor"] as const
  ).map((name) => vi.spyOn(IDBObjectStore.prototype, name));
  await storage.save([entry("one-more")]);
  expect(transactions).toHaveBeenCalledTimes(1);
  expect(writes).toHaveBeenCalledTimes(1);
  expect(others.reduce((sum, one) => sum + one.mock.calls.length, 0)).toBe(0);
  vi.restoreAllMocks();
  const { log, unsent } = await storage.load();
  expect(log.length + unsent.length).toBe(20_001);
});

/** The connections to the store, in the order they were opened. */
function connections(): IDBDatabase[] {
  const made: IDBDatabase[] = [];
  const open = IDBFactory.prototype.open;
  vi.spyOn(IDBFactory.prototype, "open").mockImplementation(function (
    this: IDBFactory,
    ...given: Parameters<typeof open>
  ) {
    const asked = open.apply(this, given);
    asked.addEventListener("success", () => made.push(asked.result));
    return asked;
  });
  return made;
}

/** End a connection as a browser does whose storage failed, and let the page hear of it. */
async function cutOff(connection: IDBDatabase | undefined): Promise<void> {
  forceCloseDatabase(connection as never);
  await new Promise((done) => setTimeout(done, 20));
}

test("a store the browser closed is opened again by the next thing to do, and the page looks anew", async () => {
  const made = connections();
  const reopened = vi.fn();
  const storage = await openIndexed("fallowside", reopened);
  await storage.save([entry("one")]);
  await cutOff(made.at(-1));
  await storage.save([entry("two")]);
  expect(reopened).toHaveBeenCalledTimes(1);
  await cutOff(made.at(-1));
  expect((await storage.unsent(9)).rows.map((row) => row.entry.id)).toEqual(["one", "two"]);
  expect(made).toHaveLength(3);
  vi.restoreAllMocks();
});

test("a connection that was closed without a word is opened again too, and what was to be saved is saved once", async () => {
  const made = connections();
  const storage = await openIndexed();
  made.at(-1)?.close();
  await Promise.all([
    storage.save([entry("one")]),
    storage.save([entry("two")]),
    storage.keep("person", "kit"),
  ]);
  const there = await storage.load();
  expect(there.unsent.map((row) => row.entry.id).sort()).toEqual(["one", "two"]);
  expect(there.kept["person"]).toBe("kit");
  vi.restoreAllMocks();
});

test("a store that was deleted under the page is let go at once, and begun again", async () => {
  const reopened = vi.fn();
  const storage = await openIndexed("fallowside", reopened);
  await storage.save([entry("one")]);
  await new Promise((done, fail) => {
    const asked = indexedDB.deleteDatabase("fallowside");
    asked.onsuccess = done;
    asked.onblocked = fail;
  });
  await storage.save([entry("two")]);
  expect((await storage.load()).unsent.map((row) => row.entry.id)).toEqual(["two"]);
  expect(reopened).toHaveBeenCalledTimes(1);
});

test("a newer page's store is neither blocked by an older page nor written by it", async () => {
  const storage = await openIndexed();
  await storage.save([entry("one")]);
  const newer = await new Promise<IDBDatabase>((done, fail) => {
    const asked = indexedDB.open("fallowside", 2);
    asked.onsuccess = () => done(asked.result);
    asked.onblocked = asked.onerror = fail;
  });
  await expect(storage.save([entry("two")])).rejects.toMatchObject({ name: "VersionError" });
  const rows = newer.transaction("rows").objectStore("rows").getAll();
  await new Promise((done) => {
    rows.onsuccess = done;
  });
  expect(rows.result.map((row: { entry: Entry }) => row.entry.id)).toEqual(["one"]);
});
