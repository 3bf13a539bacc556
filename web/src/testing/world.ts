import { forceCloseDatabase } from "fake-indexeddb";
import { vi } from "vitest";
import type { Entry } from "../log/entry";
import { openIndexed } from "../log/indexed";
import { type Journal, openJournal } from "../log/journal";
import type { Storage } from "../log/storage";
import { inTurn } from "../log/turns";
import type { Reply, Wire } from "../log/wire";
import { testLocks } from "./locks";
import { seeded } from "./seeded";
import { testService } from "./service";

/**
 * How calls fare: `refusing` stands for a sign-in that ended, `busy` for too many calls, `small` for a proxy
 * that takes no large ones, `rough` for anything at any time.
 */
export type Weather = "clear" | "rough" | "gone" | "refusing" | "busy" | "small";

/** One page of the app over the store of the phone; a dead one does nothing any more. */
export type Tab = {
  readonly journal: Journal;
  readonly storage: Storage;
  readonly phases: string[];
  kill(): void;
  /** Stop as a browser stops a page nobody looks at: what comes for it waits, and its turn stays its own. */
  freeze(): void;
  wake(): void;
  isAwake(): boolean;
};

const immediately = globalThis.setImmediate;
const TICK_MS = 5_000;
const LOOK_MS = 600_000;
const REFUSED = { type: "refused", status: 401, code: "signed_out", detail: "" } as const;
const BUSY = { type: "refused", status: 429, code: "too_many", detail: "" } as const;
const TOO_LARGE = { type: "refused", status: 413, code: "too_large", detail: "" } as const;
/** Entries a call may carry past a proxy that takes no large ones. */
const SMALL = 2;
const NOBODY = { type: "unreachable" } as const;

/**
 * A phone with any number of pages, its store and a service, on a clock of their own. Stands on
 * `vi.useFakeTimers` for timers and the date; the store runs on its own, in real turns.
 */
export function openWorld(seed: number) {
  const connections: IDBDatabase[] = [];
  const opens = IDBFactory.prototype.open;
  vi.spyOn(IDBFactory.prototype, "open").mockImplementation(function (
    this: IDBFactory,
    ...given: Parameters<typeof opens>
  ) {
    const asked = opens.apply(this, given);
    asked.addEventListener("success", () => connections.push(asked.result));
    return asked;
  });
  const random = seeded(seed);
  const service = testService();
  const tabs: Tab[] = [];
  const sky: { weather: Weather } = { weather: "clear" };
  /** Writes that fail as on a full disk: so many of the next ones. */
  const fails = { save: 0, settle: 0 };
  let busy = 0;
  const turns = inTurn(random.chance(0.8) ? testLocks() : undefined);

  const later = (ms: number) => new Promise<void>((done) => setTimeout(done, ms));
  const never = <T>() => new Promise<T>(() => undefined);

  /** Wait until the store has nothing to do. */
  async function rest(): Promise<void> {
    for (let calm = 0; calm < 4; calm = busy === 0 ? calm + 1 : 0) {
      await new Promise((done) => immediately(done));
    }
  }

  async function pass(ms: number): Promise<void> {
    await rest();
    for (let left = ms; left > 0; left -= TICK_MS) {
      await vi.advanceTimersByTimeAsync(Math.min(left, TICK_MS));
      await rest();
    }
  }

  async function way<T>(work: () => Promise<Reply<T>>): Promise<Reply<T>> {
    const { weather } = sky;
    const rough = weather === "rough";
    await later(rough ? random.below(12_000) : 20);
    if (weather === "gone" || (rough && random.chance(0.3))) return NOBODY;
    if (weather === "refusing") return REFUSED;
    if (weather === "busy") return BUSY;
    const reply = await work();
    await later(rough ? random.below(8_000) : 20);
    return rough && random.chance(0.3) ? NOBODY : reply;
  }

  async function open(): Promise<Tab> {
    let dead = false;
    let awake: Promise<void> | null = null;
    let wakes: () => void = () => undefined;
    let dies: () => void = () => undefined;
    const death = new Promise<void>((done) => {
      dies = done;
    });
    const living = async <T>(work: Promise<T>): Promise<T> => {
      try {
        const made = await work;
        await awake;
        return dead ? never() : made;
      } catch (error) {
        if (dead) return never();
        throw error;
      }
    };
    const inner = await openIndexed();
    const doing =
      <Given extends unknown[], T>(work: (...given: Given) => Promise<T>, name?: keyof typeof fails) =>
      (...given: Given): Promise<T> => {
        if (dead) return never();
        if (name !== undefined && fails[name] > 0) {
          fails[name] -= 1;
          return Promise.reject(new DOMException("full", "QuotaExceededError"));
        }
        const begun = async () => {
          await awake;
          if (dead) return never<T>();
          busy += 1;
          return work(...given).finally(() => {
            busy -= 1;
          });
        };
        return living(begun());
      };
    const storage: Storage = {
      load: doing(inner.load),
      save: doing(inner.save, "save"),
      unsent: doing(inner.unsent),
      settle: doing(inner.settle, "settle"),
      hold: doing(inner.hold),
      keep: doing(inner.keep),
    };
    const wire: Wire = {
      ...service.wire,
      sync: (call) => {
        const fits = sky.weather !== "small" || call.entries.length <= SMALL;
        return living(way(async () => (fits ? service.wire.sync(call) : TOO_LARGE)));
      },
      drop: (id) => living(way(() => service.wire.drop(id))),
    };
    const journal = openJournal(await storage.load(), {
      storage,
      wire,
      planner: { plan: async () => null },
      now: () => new Date(),
      // A page that is closed gives back what it held.
      exclusive: <T>(work: () => Promise<T>) =>
        living(turns(() => Promise.race([dead ? never<T>() : work(), death as Promise<never>]))),
      tell() {
        for (const other of tabs.filter((one) => one.journal !== journal)) {
          setTimeout(() => void other.journal.reload().catch(() => undefined), random.below(40));
        }
      },
    });
    const phases: string[] = [];
    journal.watch(() => {
      const { phase, refusal } = journal.sync.value;
      phases.push(refusal === null ? phase : `${phase}: ${refusal}`);
    });
    const looking = setInterval(() => journal.nudge("timer"), LOOK_MS);
    const tab: Tab = {
      journal,
      storage,
      phases,
      kill() {
        dead = true;
        clearInterval(looking);
        journal.stop();
        tabs.splice(tabs.indexOf(tab), 1);
        dies();
        wakes();
      },
      freeze() {
        awake ??= new Promise((done) => {
          wakes = done;
        });
      },
      wake() {
        if (awake === null) return;
        awake = null;
        wakes();
        journal.nudge("foreground");
      },
      isAwake: () => awake === null,
    };
    tabs.push(tab);
    journal.nudge("start");
    return tab;
  }

  /** End a connection as a browser does whose storage failed. */
  function closeStore(): void {
    const [one] = connections.splice(random.below(connections.length), 1);
    if (one) forceCloseDatabase(one as never);
  }

  return { closeStore, random, service, tabs, sky, fails, open, pass, rest };
}

export const noteOf = (entry: Entry): string => String(entry["note"]);
