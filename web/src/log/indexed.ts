import type { DBSchema, IDBPDatabase, IDBPObjectStore } from "idb";
import { connection } from "./connection";
import { type Entry, type Held, sameContent } from "./entry";
import type { Contents, Mark, Outbox, Row, Settled, Storage } from "./storage";

/*
 * Four stores. `rows` are entries made here, one record each, never deleted while unsent; how far the
 * service has them is one number, `mark.sentUpTo`, so that an answer for a thousand rows writes a few
 * records instead of deleting a thousand. `blocks` are pages of the log as they came, and sent rows that
 * were gathered up. Everything is written with durability 'strict': 'saved' means on the disk. A transaction is
 * told to commit as soon as its last write is asked for: else it waits for the page's next turn, and after a
 * press that comes only with the next frame.
 */
interface Schema extends DBSchema {
  rows: { key: number; value: Row };
  blocks: { key: number; value: { entries: readonly Entry[] } };
  held: { key: string; value: Held };
  kept: { key: string; value: unknown };
}

type Stores = ("rows" | "blocks" | "held" | "kept")[];
type Rows = IDBPObjectStore<Schema, Stores, "rows", "readwrite">;
type Blocks = IDBPObjectStore<Schema, Stores, "blocks", "readwrite">;

const MARK = "mark";
const START: Mark = { cursor: 0, sentUpTo: 0 };
/** From this many loose records on, sent rows and small pages are gathered into one block, for the next start. */
const LOOSE = 150;
const STRICT = { durability: "strict" } as const;

/**
 * Open the store.
 *
 * @param reopened called when it was opened again, for it may hold something else than the page remembers
 */
export async function openIndexed(
  name = "fallowside",
  reopened: () => void = () => undefined,
): Promise<Storage> {
  const { using, connect } = connection<Schema>(name, upgrade, reopened);
  await connect();
  return {
    load: () => using(load),
    save: (entries) => using((db) => save(db, entries)),
    unsent: (limit) => using((db) => unsent(db, limit)),
    settle: (settled, from) => using((db) => settle(db, settled, from)),
    hold: (held) =>
      using(async (db) => {
        const tx = db.transaction("held", "readwrite", STRICT);
        // It may have come into the log since it was looked at: what is in the log isn't held.
        const there = (await tx.store.count(held.id)) > 0;
        const put = there && tx.store.put(held);
        tx.commit();
        await Promise.all([put, tx.done]);
      }),
    keep: (key, value) =>
      using(async (db) => {
        const tx = db.transaction("kept", "readwrite", STRICT);
        const put = tx.store.put(value, key);
        tx.commit();
        await Promise.all([put, tx.done]);
      }),
  };
}

function upgrade(fresh: IDBPDatabase<Schema>): void {
  fresh.createObjectStore("rows", { keyPath: "n", autoIncrement: true });
  fresh.createObjectStore("blocks", { autoIncrement: true });
  fresh.createObjectStore("held", { keyPath: "id" });
  fresh.createObjectStore("kept");
}

async function load(db: IDBPDatabase<Schema>): Promise<Contents> {
  const tx = db.transaction(["rows", "blocks", "held", "kept"]);
  const [rows, blocks, held, keys, values] = await Promise.all([
    tx.objectStore("rows").getAll(),
    tx.objectStore("blocks").getAll(),
    tx.objectStore("held").getAll(),
    tx.objectStore("kept").getAllKeys(),
    tx.objectStore("kept").getAll(),
  ]);
  const kept = Object.fromEntries(keys.map((key, index) => [key, values[index]]));
  const mark = (kept[MARK] as Mark | undefined) ?? START;
  const set = new Set(held.map((one) => one.id));
  const sent = rows.filter((row) => row.n <= mark.sentUpTo && !set.has(row.entry.id));
  // Nobody waits for it, and a phone too full to tidy up opens all the same.
  if (sent.length + blocks.length >= LOOSE) void gather(db).catch(() => undefined);
  return {
    log: once([...sent.map((row) => row.entry), ...blocks.flatMap((block) => block.entries)]),
    unsent: rows.filter((row) => row.n > mark.sentUpTo),
    rows,
    held,
    kept,
    cursor: mark.cursor,
    sentUpTo: mark.sentUpTo,
  };
}

async function save(db: IDBPDatabase<Schema>, entries: readonly Entry[]): Promise<Row[]> {
  const tx = db.transaction("rows", "readwrite", STRICT);
  const keys = entries.map((entry) => tx.store.add({ entry } as Row));
  tx.commit();
  await Promise.all([...keys, tx.done]);
  const places = await Promise.all(keys);
  return entries.map((entry, index) => ({ n: places[index] as number, entry }));
}

async function unsent(db: IDBPDatabase<Schema>, limit: number): Promise<Outbox> {
  const tx = db.transaction(["rows", "held", "kept"]);
  const mark = ((await tx.objectStore("kept").get(MARK)) as Mark | undefined) ?? START;
  const after = IDBKeyRange.lowerBound(mark.sentUpTo, true);
  const [rows, held] = await Promise.all([
    tx.objectStore("rows").getAll(after, limit),
    tx.objectStore("held").getAll(),
  ]);
  return { rows, held, ...mark };
}

async function settle(db: IDBPDatabase<Schema>, settled: Settled, from: Mark): Promise<boolean> {
  const tx = db.transaction(["rows", "blocks", "held", "kept"], "readwrite", STRICT);
  const mark = ((await tx.objectStore("kept").get(MARK)) as Mark | undefined) ?? START;
  if (mark.cursor !== from.cursor || mark.sentUpTo !== from.sentUpTo || mark.log !== from.log) return false;
  const { cursor, sentUpTo, log } = settled;
  if (settled.again) {
    const held = await tx.objectStore("held").getAll();
    await sendAgain(tx.objectStore("rows"), tx.objectStore("blocks"), held, settled);
  }
  if (settled.dropped.length > 0) {
    const rows = tx.objectStore("rows");
    const gone = (await rows.getAll()).filter((row) => settled.dropped.includes(row.entry.id));
    for (const row of gone) if (row.n <= sentUpTo) await rows.delete(row.n);
  }
  const writes: Promise<unknown>[] = [tx.objectStore("kept").put({ cursor, sentUpTo, log }, MARK)];
  if (settled.received.length > 0) {
    writes.push(tx.objectStore("blocks").add({ entries: settled.received }));
  }
  for (const id of [...settled.released, ...settled.dropped]) writes.push(tx.objectStore("held").delete(id));
  for (const one of settled.held) writes.push(tx.objectStore("held").put(one));
  tx.commit();
  await Promise.all([...writes, tx.done]);
  return true;
}

/**
 * Append all that the service's new log may lack as rows; what it has already, it takes for what it is.
 * Under one id it may have something else than the old one had: ours is sent all the same. Of an id that
 * is held, what was held goes out, unless it was mended or let go, and nothing else that had the id before.
 */
async function sendAgain(rows: Rows, blocks: Blocks, held: readonly Held[], settled: Settled): Promise<void> {
  const received = new Map(settled.received.map((one) => [one.id, one]));
  const waiting = await rows.getAll(IDBKeyRange.lowerBound(settled.sentUpTo, true));
  const answered = new Set([
    ...settled.held.map((one) => one.id),
    ...settled.released,
    ...waiting.map((row) => row.entry.id),
  ]);
  const letGo = new Set(held.filter((one) => one.dropped).map((one) => one.id));
  const sent = (await rows.getAll(IDBKeyRange.upperBound(settled.sentUpTo)))
    .map((row) => row.entry)
    .filter(({ id }) => !letGo.has(id));
  const pages = (await blocks.getAll()).flatMap((block) => block.entries);
  const waits = held.filter((one) => !one.dropped).map((one) => one.entry);
  for (const entry of once([...sent, ...pages, ...waits])) {
    if (!answered.has(entry.id) && !sameContent(entry, received.get(entry.id))) {
      await rows.add({ entry } as Row);
    }
  }
}

/** Put many small records of what the service has into one block; unsent and held rows stay as they are. */
async function gather(db: IDBPDatabase<Schema>): Promise<void> {
  const tx = db.transaction(["rows", "blocks", "held", "kept"], "readwrite", STRICT);
  const done = tx.done;
  // Where a write of it fails, that failure tells of it: nobody waits for the end any more.
  done.catch(() => undefined);
  const rows = tx.objectStore("rows");
  const blocks = tx.objectStore("blocks");
  const mark = ((await tx.objectStore("kept").get(MARK)) as Mark | undefined) ?? START;
  const sent = IDBKeyRange.upperBound(mark.sentUpTo);
  const held = new Set(await tx.objectStore("held").getAllKeys());
  const known = (await rows.getAll(sent)).map((row) => row.entry).filter(({ id }) => !held.has(id));
  const pages = (await blocks.getAll()).flatMap((block) => block.entries);
  const whole = await blocks.add({ entries: once([...known, ...pages]) });
  await blocks.delete(IDBKeyRange.upperBound(whole, true));
  await rows.delete(sent);
  await done;
}

/** One of each id; the last one stands, so that a mended row replaces the first try. */
function once(entries: readonly Entry[]): Entry[] {
  return [...new Map(entries.map((entry) => [entry.id, entry])).values()];
}
