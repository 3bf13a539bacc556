import type { Plan, Route, Tally } from "../generated/shapes";
import type { SyncCall, SyncReply } from "../generated/syncshapes";
import type { Entry } from "./entry";

/** One call of `POST /api/sync`, in which this phone says everything but, at first, the log. */
export type Outgoing = Required<Omit<SyncCall, "entries" | "log">> & {
  readonly entries: readonly Entry[];
  readonly log?: string;
};

/** What the service answers to it; an older one doesn't name its log. */
export type Incoming = Omit<SyncReply, "entries" | "log"> & {
  readonly entries: readonly Entry[];
  readonly log?: string;
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
  /** Set a held entry aside for good; refused with 404 where the service doesn't hold it. */
  drop(id: string): Promise<Reply<unknown>>;
}
