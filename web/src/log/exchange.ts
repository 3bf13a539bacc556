import type { Entry, Held } from "./entry";
import type { Row, Settled, Storage } from "./storage";
import type { HeldAnswer, Incoming, Reply, Wire } from "./wire";

/** How one call of sync ended, as the step function wants to hear it. */
export type Outcome =
  | {
      readonly type: "answered";
      readonly moved: boolean;
      readonly left: boolean;
      readonly settled: Settled;
      readonly skewS: number;
    }
  | { readonly type: "unreachable" }
  | { readonly type: "refused"; readonly status: number; readonly code: string };

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
  heldIds: readonly string[],
  now: () => Date,
): Promise<Outcome> {
  const { rows, cursor, sentUpTo, log } = await storage.unsent(size);
  const entries = newest(rows);
  const reply: Reply<Incoming> = await wire.sync({
    device,
    cursor,
    ...(log === undefined ? {} : { log }),
    entries,
    sent_at: now().toISOString(),
  });
  if (reply.type !== "answer") return reply;
  const settled = settle(rows, entries, reply.body, { sentUpTo, log }, heldIds);
  await storage.settle(settled);
  const left = reply.body.more || (await storage.unsent(1)).rows.length > 0;
  const moved = settled.again || settled.sentUpTo > sentUpTo || settled.cursor > cursor;
  return { type: "answered", moved, left, settled, skewS: reply.body.clock_skew_s ?? 0 };
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
  before: { readonly sentUpTo: number; readonly log?: string | undefined },
  heldIds: readonly string[],
): Settled {
  const accepted = new Set(answer.accepted);
  const held = answer.held.flatMap((one) => asHeld(one, entries));
  const named = new Set([...accepted, ...held.map((one) => one.id)]);
  let upTo = before.sentUpTo;
  for (const row of rows) {
    if (!named.has(row.entry.id)) break;
    upTo = row.n;
  }
  const inLog = new Set([...accepted, ...answer.entries.map((entry) => entry.id)]);
  return {
    sentUpTo: upTo,
    cursor: answer.cursor,
    log: answer.log ?? before.log,
    again: before.log !== undefined && answer.log !== undefined && before.log !== answer.log,
    received: answer.entries,
    held,
    released: heldIds.filter((id) => inLog.has(id)),
    dropped: [],
  };
}

function asHeld(answer: HeldAnswer, entries: readonly Entry[]): Held[] {
  const entry = entries.find((one) => one.id === answer.id) ?? entries[answer.index];
  if (entry === undefined) return [];
  const { code, field, why, values } = answer;
  return [{ id: entry.id, entry, code, field: field ?? "", why, values: values ?? {} }];
}
