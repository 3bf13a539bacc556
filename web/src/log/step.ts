/**
 * Sync as a pure step: what the phone knows about sending, something that happened, and what follows.
 *
 * `idle` nothing is under way; `sending` one call is out; `waiting` nobody answered, a try is set for
 * later; `blocked` the service refused the whole call, and trying the same again at once won't help.
 */
export type Why = "start" | "online" | "foreground" | "entry" | "hand" | "timer" | "background";

export type SyncState = {
  readonly phase: "idle" | "sending" | "waiting" | "blocked";
  /** Something came up while a call was out: go again after it. */
  readonly again: boolean;
  /** Calls in a row that failed. */
  readonly failures: number;
  /** Entries a call may carry: halved when the service finds it too large or the line may be too slow. */
  readonly size: number;
  /** Why the service refused, for the screen. */
  readonly refusal: string | null;
};

export type SyncEvent =
  | { readonly type: "nudge"; readonly why: Why }
  | { readonly type: "answered"; readonly moved: boolean; readonly left: boolean }
  | { readonly type: "unreachable" }
  | { readonly type: "refused"; readonly status: number; readonly code: string };

export type SyncEffect =
  | { readonly type: "send"; readonly size: number }
  | { readonly type: "wake"; readonly afterMs: number }
  | { readonly type: "plan" };

export type Step = { readonly state: SyncState; readonly effects: readonly SyncEffect[] };

export const MOST_A_CALL = 1000;
/** So few go at a time on a line too slow for more: 10 kB, packed. */
const FEWEST_IN_VAIN = 125;
/** The code of a call that failed on this phone: what it brought could not be written down. */
export const STORE_FAILED = "store_failed";
const WAITS_MS = [5_000, 15_000, 60_000, 300_000];
const BLOCKED_WAIT_MS = 900_000;
const TOO_LARGE = 413;
const TOO_MANY_CALLS = 429;

export const START: SyncState = {
  phase: "idle",
  again: false,
  failures: 0,
  size: MOST_A_CALL,
  refusal: null,
};

export function step(state: SyncState, event: SyncEvent): Step {
  switch (event.type) {
    case "nudge":
      return nudged(state, event.why);
    case "answered":
      return answered(state, event.moved, event.left);
    case "unreachable":
      return unreachable(state);
    case "refused":
      return refused(state, event.status, event.code);
  }
}

const still = (state: SyncState): Step => ({ state, effects: [] });

function send(state: SyncState): Step {
  return {
    state: { ...state, phase: "sending", again: false, refusal: null },
    effects: [{ type: "send", size: state.size }],
  };
}

function nudged(state: SyncState, why: Why): Step {
  if (state.phase === "sending") return still({ ...state, again: true });
  // The service has said no: one more entry won't change its mind, a person or a new start may. Where
  // the phone's own store was full, an entry that could be saved says that there is room again.
  if (state.phase === "blocked" && why === "entry" && state.refusal !== STORE_FAILED) return still(state);
  return send(state);
}

function answered(state: SyncState, moved: boolean, left: boolean): Step {
  const fresh = { ...state, failures: 0, size: Math.min(2 * state.size, MOST_A_CALL) };
  if (left && !moved) {
    // Rows are left, and the answer named none of them: asking again would go on for ever.
    return blocked(fresh, "unanswered");
  }
  if (left || state.again) return send(fresh);
  return { state: { ...fresh, phase: "idle", refusal: null }, effects: [{ type: "plan" }] };
}

/** The signal may have come back while a call was out that began without it: that one said nothing of it. */
function unreachable({ size, ...before }: SyncState): Step {
  const failures = before.failures + 1;
  // From the second in a row on it may be the line that is too slow for so many.
  const fewer = failures > 1 ? Math.max(Math.min(size, FEWEST_IN_VAIN), Math.ceil(size / 2)) : size;
  const state = { ...before, failures, size: fewer };
  return state.again ? send(state) : later(state);
}

function refused(state: SyncState, status: number, code: string): Step {
  if (status === TOO_LARGE && state.size > 1) {
    return send({ ...state, size: Math.ceil(state.size / 2) });
  }
  const failed = { ...state, failures: state.failures + 1 };
  if (status === TOO_MANY_CALLS) return later(failed);
  // What came up since the call went out, a sign-in renewed say, is what the refusal knows nothing of.
  return state.again ? send(failed) : blocked(failed, code);
}

function later(state: SyncState): Step {
  return {
    state: { ...state, phase: "waiting", again: false, refusal: null },
    effects: [{ type: "wake", afterMs: waitMs(state) }],
  };
}

const waitMs = ({ failures }: SyncState): number =>
  WAITS_MS[Math.min(failures, WAITS_MS.length) - 1] ?? BLOCKED_WAIT_MS;

function blocked(state: SyncState, refusal: string): Step {
  // A store closed in the middle of a write is there again the next moment; a service stays with its no.
  const afterMs = refusal === STORE_FAILED ? waitMs(state) : BLOCKED_WAIT_MS;
  return {
    state: { ...state, phase: "blocked", again: false, refusal },
    effects: [{ type: "wake", afterMs }],
  };
}
