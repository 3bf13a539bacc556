// Made from the server's shapes by `make shapes`; changed there, never here.

/** What every entry may say, whatever its kind; the fields of its kind stand beside these. */
export type Envelope = {
  readonly id: string;
  readonly kind: string;
  readonly at: string;
  readonly station?: string;
  readonly side?: string;
  readonly noted_at?: string;
  readonly by?: string;
  readonly device?: string;
  readonly note?: string;
};

/** An entry of the log, with the fields the server adds. */
export type HandedOut = {
  readonly id: string;
  readonly kind: string;
  readonly at: string;
  readonly station?: string;
  readonly side?: string;
  readonly noted_at?: string;
  readonly by?: string;
  readonly device?: string;
  readonly note?: string;
  readonly seq: number;
  readonly received_at: string;
};

/** What a device sends. */
export type SyncCall = {
  readonly device: string;
  readonly cursor?: number;
  readonly entries?: readonly (Readonly<Record<string, unknown>>)[];
  readonly sent_at?: string | null;
  readonly log?: string | null;
};

/** An entry of the call that was set aside, and what to mend. */
export type HeldEntry = {
  readonly id: string | null;
  readonly index: number;
  readonly ref: string;
  readonly code: string;
  readonly why: string;
  readonly field: string;
  readonly values: Readonly<Record<string, unknown>>;
};

/** What became of a call, and what the device has not seen. */
export type SyncReply = {
  readonly accepted: readonly string[];
  readonly held: readonly HeldEntry[];
  readonly entries: readonly HandedOut[];
  readonly cursor: number;
  readonly more: boolean;
  readonly log: string;
  readonly server_time: string;
  readonly clock_skew_s?: number;
};
