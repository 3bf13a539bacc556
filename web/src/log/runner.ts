import { exchange, type Outcome } from "./exchange";
import { START, STORE_FAILED, type SyncEffect, type SyncEvent, type SyncState, step, type Why } from "./step";
import type { Storage } from "./storage";
import type { Wire } from "./wire";

/** What the runner needs from around it; `exclusive` lets one tab send at a time. */
export type Surroundings = {
  readonly storage: Storage;
  readonly wire: Wire;
  readonly device: string;
  now(): Date;
  exclusive<T>(work: () => Promise<T>): Promise<T>;
  /** Called after the store has taken an answer in. */
  settled(outcome: Extract<Outcome, { type: "answered" }>): void | Promise<void>;
  changed(state: SyncState): void;
  /** Sync has caught up: time for a new plan. */
  caughtUp(): void;
};

/** The service has none of it: it was told before, or was put back to a day on which it had none. */
const NOT_HELD = 404;

export type Runner = { nudge(why: Why): void; state(): SyncState; stop(): void };

/** Carry out what `step` decides: one call at a time, a timer for the next try. */
export function startRunner(around: Surroundings): Runner {
  let state = START;
  let timer: ReturnType<typeof setTimeout> | undefined;

  function happen(event: SyncEvent): void {
    const next = step(state, event);
    state = next.state;
    around.changed(state);
    next.effects.forEach(perform);
  }

  function perform(effect: SyncEffect): void {
    clearTimeout(timer);
    if (effect.type === "send") void send(effect.size);
    else if (effect.type === "plan") around.caughtUp();
    else timer = setTimeout(() => happen({ type: "nudge", why: "timer" }), effect.afterMs);
  }

  async function send(size: number): Promise<void> {
    try {
      const outcome = await around.exclusive(async () => {
        const dropped = await letGo(around);
        const ended = await exchange(around.storage, around.wire, around.device, size, around.now);
        return ended.type === "answered" ? { ...ended, settled: { ...ended.settled, dropped } } : ended;
      });
      if (outcome.type === "answered") await around.settled(outcome);
      happen(outcome);
    } catch {
      // The phone's own store failed (full, or closed under us): nothing was marked as sent.
      happen({ type: "refused", status: 0, code: STORE_FAILED });
    }
  }

  return {
    nudge: (why) => happen({ type: "nudge", why }),
    state: () => state,
    stop: () => clearTimeout(timer),
  };
}

/** Tell the service which held entries a person let go; those it can't hear yet wait. */
async function letGo({ storage, wire }: Surroundings): Promise<readonly string[]> {
  const { rows: _, held, ...mark } = await storage.unsent(1);
  const dropped: string[] = [];
  for (const one of held.filter((entry) => entry.dropped)) {
    const reply = await wire.drop(one.id);
    // With nobody there each would be waited for in vain, and all that was recorded after it.
    if (reply.type === "unreachable") break;
    if (reply.type === "answer" || reply.status === NOT_HELD) dropped.push(one.id);
  }
  if (dropped.length > 0) {
    const settled = {
      ...mark,
      again: false,
      received: [],
      held: [],
      released: [],
      dropped,
    };
    if (!(await storage.settle(settled, mark))) return [];
  }
  return dropped;
}
