import type { Entry, Held } from "./entry";

/** An entry made on this phone, at its place in the order of saving. */
export type Row = { readonly n: number; readonly entry: Entry };

/** What the phone keeps by name: cursor, last plan, who is writing, choices. */
export type Kept = Readonly<Record<string, unknown>>;

/** All that is on the phone. */
export type Contents = {
  /** Entries the service is known to have: its own and, up to `sentUpTo`, ours. */
  readonly log: readonly Entry[];
  /** Entries made here that the service hasn't answered yet, oldest first. */
  readonly unsent: readonly Row[];
  /** Entries made here that still stand one by one, sent or not: what the last plan may not know. */
  readonly rows: readonly Row[];
  readonly held: readonly Held[];
  readonly kept: Kept;
  readonly cursor: number;
  readonly sentUpTo: number;
};

/** How far sync has come. */
export type Mark = {
  /** Every entry of the service up to this one is here. */
  readonly cursor: number;
  /** Every row up to this place was answered: accepted, or held. */
  readonly sentUpTo: number;
  /** The log the cursor belongs to; none from a service that doesn't name it. */
  readonly log?: string | undefined;
};

/** What a call starts from, as the store has it: another page may have come further than this one knows. */
export type Outbox = Mark & { readonly rows: readonly Row[]; readonly held: readonly Held[] };

/** What one answer of the service changes, as one transaction: all of it, or nothing. */
export type Settled = Mark & {
  /** The service has another log than before: all that is on the phone is to go out again. */
  readonly again: boolean;
  readonly received: readonly Entry[];
  readonly held: readonly Held[];
  /** Held entries that are in the log after all. */
  readonly released: readonly string[];
  /** Held entries a person let go, and the service has too. */
  readonly dropped: readonly string[];
};

/**
 * The phone's own store. A promise that resolves means: on the disk, not in a queue.
 * Nothing in it deletes an unsent row.
 */
export interface Storage {
  load(): Promise<Contents>;
  /** Append entries; resolves with their places once the transaction has completed. */
  save(entries: readonly Entry[]): Promise<readonly Row[]>;
  /** Unsent rows, oldest first, at most `limit`, with the mark they go out under and what is held. */
  unsent(limit: number): Promise<Outbox>;
  /**
   * Write an answer down. False, and nothing is written, where another page has taken sync further since
   * it stood at `from`: what was true then may not be so now.
   */
  settle(settled: Settled, from: Mark): Promise<boolean>;
  /** Change a held entry (`dropped`); nothing happens to one that is held no more. */
  hold(held: Held): Promise<void>;
  keep(name: string, value: unknown): Promise<void>;
}
