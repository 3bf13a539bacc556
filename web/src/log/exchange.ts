import type { HeldEntry } from "../generated/syncshapes";
import { type Entry, type Held, sameContent } from "./entry";
import type { Mark, Row, Settled, Storage } from "./storage";
import type { Incoming, Reply, Wire } from "./wire";

/** How one call of sync ended, as the step function wants to hear it. */
export type Outcome =
  | {
      readonly type: "answered";
      /** False if another call like this one would be answered no better. */
      readonly moved: boolean;
      readonly left: boolean;
      readonly settled: Settled;
      /** How far sync had come before. */
      readonly from: Mark;
      /** The rows it answered. */
      readonly done: readonly Row[];
      readonly skewS: number;
    }
  | { readonly type: "unreachable" }
  | { readonly type: "refused"; readonly status: number; readonly code: string };

const TAKEN = "id_taken";

/**
 * Make one call: send what is unsent, write down what the answer changes, as one transaction.
 *
 * The page and the service worker both use it; `settle` runs only after the service has answered.
 */
export async function exchange(
  storage: Storage,
  wire: Wire,
  device: string,
  size: number,
  now: () => Date,
): Promise<Outcome> {
  const { rows, held, ...from } = await storage.unsent(size);
  const { cursor, sentUpTo, log } = from;
  const entries = newest(rows);
  const reply: Reply<Incoming> = await wire.sync({
    device,
    cursor,
    ...(log === undefined ? {} : { log }),
    entries,
    sent_at: now().toISOString(),
  });
  if (reply.type !== "answer") return reply;
  const settled = settle(rows, entries, reply.body, from, held);
  // Another page was quicker: what it has written down is where this one goes on.
  if (!(await storage.settle(settled, from))) return exchange(storage, wire, device, size, now);
  const left = reply.body.more || (await storage.unsent(1)).rows.length > 0;
  // Where nothing was sent and all was heard, what is left was saved while the call was out.
  const savedSince = rows.length === 0 && !reply.body.more;
  const moved = savedSince || settled.again || settled.sentUpTo > sentUpTo || settled.cursor > cursor;
  const done = rows.filter((row) => row.n <= settled.sentUpTo);
  return { type: "answered", moved, left, settled, from, done, skewS: reply.body.clock_skew_s ?? 0 };
}

/** Of several tries at one entry (a mended one) only the newest goes out. */
function newest(rows: readonly Row[]): Entry[] {
  return [...new Map(rows.map(({ entry }) => [entry.id, entry])).values()];
}

/** Read an answer: how far the rows were answered, what is held now, and what is no longer. */
export function settle(
  rows: readonly Row[],
  entries: readonly Entry[],
  answer: Incoming,
  before: Mark,
  heldBefore: readonly Held[],
): Settled {
  const accepted = new Set(answer.accepted);
  const held = answer.held.flatMap((one) => asHeld(one, entries));
  const named = new Set([...accepted, ...held.map((one) => one.id)]);
  let upTo = before.sentUpTo;
  for (const row of rows) {
    if (!named.has(row.entry.id)) break;
    upTo = row.n;
  }
  const all = new Map([...heldBefore, ...held].map((one) => [one.id, one]));
  const came = new Map(answer.entries.map((entry) => [entry.id, entry]));
  const isIn = (one: Held) => accepted.has(one.id) || sameContent(one.entry, came.get(one.id));
  // Another entry has come under the id of a held one, which was not let in and says something else.
  const clashing = [...all.values()]
    .filter((one) => came.has(one.id) && !isIn(one) && one.code !== TAKEN)
    .map((one): Held => ({ ...one, code: TAKEN, field: "id", values: {} }));
  return {
    sentUpTo: upTo,
    cursor: answer.cursor,
    log: answer.log ?? before.log,
    // A cursor that went back is that of a log that was set back under its old name.
    again:
      answer.cursor < before.cursor ||
      (before.log !== undefined && answer.log !== undefined && before.log !== answer.log),
    received: answer.entries,
    held: [...held.filter((one) => !isIn(one)), ...clashing],
    released: [...all.values()].filter(isIn).map((one) => one.id),
    dropped: [],
  };
}

function asHeld(answer: HeldEntry, entries: readonly Entry[]): Held[] {
  const entry = entries.find((one) => one.id === answer.id) ?? entries[answer.index];
  if (entry === undefined) return [];
  const { code, field, why, values } = answer;
  return [{ id: entry.id, entry, code, field: field ?? "", why, values: values ?? {} }];
}
