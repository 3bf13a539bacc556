import type { Plan, Route, Tally } from "../generated/shapes";
import type { Entry } from "./entry";

/** One call of `POST /api/sync`. */
export type Outgoing = {
  readonly device: string;
  readonly cursor: number;
  /** The log the cursor belongs to, once a service has named it. */
  readonly log?: string;
  readonly entries: readonly Entry[];
  readonly sent_at: string;
};

export type HeldAnswer = {
  readonly id: string | null;
  readonly index: number;
  readonly code: string;
  readonly why: string;
  readonly field: string;
  readonly values: Readonly<Record<string, unknown>>;
};

/** What the service answers to it. */
export type Incoming = {
  readonly accepted: readonly string[];
  readonly held: readonly HeldAnswer[];
  readonly entries: readonly Entry[];
  readonly cursor: number;
  /** Names the log: another name than before means another store, made anew or restored from a backup. */
  readonly log?: string;
  readonly more: boolean;
  readonly server_time: string;
  readonly clock_skew_s?: number;
};

/** How a call ended: an answer, nobody there, or a refusal of the whole call (RFC 9457). */
export type Reply<T> =
  | { readonly type: "answer"; readonly body: T }
  | { readonly type: "unreachable" }
  | { readonly type: "refused"; readonly status: number; readonly code: string; readonly detail: string };

/** The way to the service. Tests put a wire of their own here, and cut it. */
export interface Wire {
  sync(call: Outgoing): Promise<Reply<Incoming>>;
  plan(): Promise<Reply<Plan>>;
  /** The tally of the days from one to another, both included. */
  tally(since: string, until: string): Promise<Reply<Tally>>;
  /** Where a bucket goes, by the service's log. */
  route(bucket: readonly unknown[]): Promise<Reply<Route>>;
  /** Set a held entry aside for good; true once the service has done so or doesn't hold it. */
  drop(id: string): Promise<boolean>;
}
