import { ask, post } from "../log/http";

/** Who holds this phone, as the service has paired it. */
export type Me = {
  readonly person: string;
  readonly role: string;
  /** Whether the stay goes on; after it the phone only hands in what it has. */
  readonly here: boolean;
  readonly last_day: string | null;
  /** The service lets only its own machine in, and asks nobody who they are. */
  readonly open: boolean;
};

export type Invitation = {
  readonly code: string;
  readonly link: string;
  readonly until: string;
  /** The link as a code for a camera, a row a line, 1 is dark. */
  readonly squares: readonly string[];
  /** Where a phone that was never here learns to trust the server, if that made its own certificate. */
  readonly trust_address: string | null;
  readonly trust_squares: readonly string[];
};

export type PhoneLine = {
  readonly n: number;
  readonly person: string;
  readonly kind: string;
  readonly seen_at: string;
  readonly mine: boolean;
  /** The service's clock minus its own when it last sent; 0 where that is too little to tell. [s] */
  readonly clock_skew_s: number;
};

export type Alarm = {
  readonly what: string;
  readonly source: string;
  readonly times: number;
  readonly last_at: string;
};
export type Phones = { readonly phones: readonly PhoneLine[]; readonly alarms: readonly Alarm[] };

/** An entry that was set aside, and why. */
export type Waiting = {
  readonly ref: string;
  readonly device: string;
  readonly code: string;
  readonly field: string;
  readonly values: Readonly<Record<string, string | number>>;
  readonly entry: unknown;
};

/** The service's answers to who may come in. All of it needs signal. */
export const door = {
  me: () => ask<Me>("/api/me", {}),
  pair: (code: string, device: string) => post<Me>("/api/pair", { code, device }),
  leave: () => post<Me>("/api/leave", {}),
  invite: (person: string) => post<Invitation>("/api/invitations", { person }),
  phones: () => ask<Phones>("/api/phones", {}),
  end: (n: number) => post<unknown>(`/api/phones/${n}/end`, {}),
  alarmsSeen: () => post<unknown>("/api/alarms/seen", {}),
  waiting: () => ask<{ held: readonly Waiting[] }>("/api/held", {}),
  allow: (ref: string) => post<unknown>(`/api/held/${encodeURIComponent(ref)}/allow`, {}),
  drop: (ref: string) => post<unknown>(`/api/held/${encodeURIComponent(ref)}/drop`, {}),
};
