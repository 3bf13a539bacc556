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

/** What one answer of the service changes, as one transaction: all of it, or nothing. */
export type Settled = {
  /** Every row up to this place was answered: accepted, or held. */
  readonly sentUpTo: number;
  readonly cursor: number;
  /** The log the cursor belongs to; none from a service that doesn't name it. */
  readonly log?: string | undefined;
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
  /** Unsent rows, oldest first, at most `limit`, with the mark and the cursor they go out under. */
  unsent(limit: number): Promise<{
    rows: readonly Row[];
    cursor: number;
    sentUpTo: number;
    log?: string | undefined;
  }>;
  settle(settled: Settled): Promise<void>;
  /** Put a held entry back in its place, changed (`dropped`). */
  hold(held: Held): Promise<void>;
  keep(name: string, value: unknown): Promise<void>;
}
