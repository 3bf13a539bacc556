import { batch, computed, effect, signal } from "@preact/signals";
import type { Planner } from "../core/planner";
import { type Basis, type KeptPlan, replaces } from "../core/plans";
import type { Plan, Route, Tally } from "../generated/shapes";
import { rfc3339 } from "./clock";
import type { Draft, Entry, Held } from "./entry";
import type { Outcome } from "./exchange";
import { type Runner, startRunner } from "./runner";
import { openStanding } from "./standing";
import { START, type SyncState, type Why } from "./step";
import type { Contents, Row, Storage } from "./storage";
import { uuid7 } from "./uuid7";
import type { Wire } from "./wire";

/** No entries; always the same, so that nobody draws anew for it. */
const NONE: readonly Entry[] = [];
/** A first plan this old is asked for again when the log has come. */
const OLD_MS = 600_000;

export type Journal = ReturnType<typeof openJournal>;

/** What the journal stands on; tests put their own here. */
export type Footing = {
  readonly storage: Storage;
  readonly wire: Wire;
  readonly planner: Planner;
  now(): Date;
  exclusive<T>(work: () => Promise<T>): Promise<T>;
  /** Tell other tabs that the store has changed. */
  tell(): void;
};

/**
 * The log as the screens see it: signals over what is stored, and the ways to add to it.
 * Nothing is shown as saved before the store has it on the disk.
 */
export function openJournal(contents: Contents, footing: Footing) {
  const { storage, now } = footing;
  const log = signal<readonly Entry[]>(contents.log);
  const unsent = signal<readonly Row[]>(contents.unsent);
  const recent = signal<readonly Row[]>(contents.rows);
  /** Entries on their way into the store: the worker may look at them, but nobody is told of them yet. */
  const coming = signal<readonly Entry[]>([]);
  const allHeld = signal<readonly Held[]>(contents.held);
  const kept = signal(contents.kept);
  const sync = signal<SyncState>(START);
  const sentUpTo = signal(contents.sentUpTo);
  let cursor = contents.cursor;
  const skewS = signal(0);
  /** A phone with nothing on it has asked for its first plan, and has no answer yet. */
  const opening = signal(false);

  const device = String(contents.kept["device"] ?? uuid7(now().getTime()));
  const plan = computed(() => (kept.value["plan"] as KeptPlan | undefined) ?? null);
  const syncedAt = computed(() => (kept.value["syncedAt"] as string | undefined) ?? null);
  /** Held entries that still want a person: not let go, and not mended and on their way. */
  const held = computed(() => {
    const onTheWay = (id: string) => unsent.value.some((row) => row.entry.id === id);
    return allHeld.value.filter((one) => !one.dropped && !onTheWay(one.id));
  });
  const stand = openStanding();
  const standing = computed(() => {
    // Where another entry has the id of a held one, that other one is in the log and counts.
    const aside = new Set(held.value.filter((one) => one.code !== "id_taken").map((one) => one.id));
    const all = [...log.value, ...unsent.value.map((row) => row.entry)];
    return stand(aside.size === 0 ? all : all.filter((entry) => !aside.has(entry.id)));
  });
  /** All there is to plan from, as it was written: sent or not, but for what is held. */
  const known = computed(() => standing.value.known);
  const entries = computed(() => standing.value.entries);
  const setUp = computed(() => standing.value.setUp);
  /** Entries made here that the plan on the screen doesn't know yet. */
  const fresh = computed(() => {
    const upTo = plan.value?.upTo ?? 0;
    const rows = recent.value.filter((row) => row.n > upTo);
    return rows.length === 0 ? NONE : rows.map((row) => row.entry);
  });
  const freshIds = computed(() => new Set(fresh.value.map((entry) => entry.id)));
  const newest = computed(() => Math.max(sentUpTo.value, recent.value.at(-1)?.n ?? 0));
  /** The plan on the screen was made from another log than the phone has now. */
  const stale = computed(() => plan.value?.knows !== known.value.length || plan.value.upTo < newest.value);
  /** The phone has had the whole log once, or there was never a service to have one. */
  const whole = computed(
    () => kept.value["caughtUp"] === true || (syncedAt.value === null && plan.value?.by !== "service"),
  );

  /** Rises with whatever is kept here, and again once it is: what was read in between may lack it. */
  let keeping = 0;

  async function keep(name: string, value: unknown): Promise<void> {
    keeping += 1;
    kept.value = { ...kept.value, [name]: value };
    await storage.keep(name, value).finally(() => {
      keeping += 1;
    });
  }

  async function save(drafts: readonly Draft[]): Promise<readonly Entry[]> {
    const made = drafts.map((draft) => envelope(draft));
    await append(made);
    return made;
  }

  async function append(made: readonly Entry[]): Promise<void> {
    coming.value = [...coming.value, ...made];
    const arrived = () => {
      coming.value = coming.value.filter((entry) => !made.includes(entry));
    };
    const rows = await storage.save(made).catch((error: unknown) => {
      arrived();
      throw error;
    });
    batch(() => {
      unsent.value = [...unsent.value, ...rows];
      recent.value = [...recent.value, ...rows];
      arrived();
    });
    footing.tell();
    runner.nudge("entry");
  }

  function envelope(draft: Draft): Entry {
    const time = rfc3339(now());
    const by = kept.value["person"];
    return {
      id: uuid7(now().getTime()),
      at: time,
      noted_at: time,
      device,
      ...(typeof by === "string" && by !== "" ? { by } : {}),
      ...draft,
    };
  }

  let order = 0;

  /** Note what is known at the moment somebody is asked for a plan. */
  function ask(by: Basis["by"]): Basis {
    order = Math.max(order + 1, (plan.value?.order ?? 0) + 1, now().getTime());
    const upTo = by === "service" ? sentUpTo.value : newest.value;
    return { by, order, upTo, knows: known.value.length };
  }

  /** Add to a basis what was on its way when it was noted; null if the store has not taken all of it. */
  function stored(basis: Basis, ids: readonly string[]): Basis | null {
    const rows = recent.value.filter((row) => ids.includes(row.entry.id));
    if (rows.length < ids.length) return null;
    const upTo = Math.max(basis.upTo, ...rows.map((row) => row.n));
    return { ...basis, upTo, knows: basis.knows + ids.length };
  }

  /** Show a plan, unless the one on the screen is the better one. */
  async function offer(made: Plan, basis: Basis): Promise<void> {
    if (!replaces(basis, plan.value)) return;
    await keep("plan", { plan: made, gotAt: rfc3339(now()), ...basis } satisfies KeptPlan);
    footing.tell();
  }

  async function refreshPlan(): Promise<Basis> {
    const basis = ask("service");
    const made = await footing.planner.plan();
    if (made !== null) await offer(made, basis);
    return basis;
  }

  /** The plan a phone with none asked for at its start; none once it was looked at again. */
  let first: Promise<Basis> | null = null;

  /** The log has come: ask for its plan, unless the first one turns out to be just that. */
  async function renewPlan(): Promise<void> {
    const serves = first?.then(madeFromAll, () => false);
    first = null;
    if (!(await serves)) await refreshPlan();
  }

  /**
   * Whether the plan asked for on this basis is on the screen and made from all there is here; if so, that is
   * noted. A log only grows: of the service's entries, with none of our own since, as many are the same ones.
   */
  async function madeFromAll({ order }: Basis): Promise<boolean> {
    const there = plan.peek();
    const knows = known.peek().length;
    if (there?.order !== order || there.plan.made_from.entries !== knows) return false;
    const age = Math.abs(now().getTime() - Date.parse(there.gotAt));
    if (newest.peek() > there.upTo || age > OLD_MS) return false;
    await keep("plan", { ...there, knows } satisfies KeptPlan);
    footing.tell();
    return true;
  }

  async function settled(outcome: Extract<Outcome, { type: "answered" }>) {
    const { settled: change, from, done } = outcome;
    // Kept, so that photos go out again even if the page dies now.
    if (change.again) await keep("otherLogSince", rfc3339(now()));
    const here = new Set(unsent.value.map((row) => row.n));
    const mine =
      from.cursor === cursor && from.sentUpTo === sentUpTo.value && done.every(({ n }) => here.has(n));
    // Another page wrote to the store and was closed before it could say so: only the store knows it all.
    if (change.again || !mine) await reload();
    batch(() => {
      const gone = new Set([...change.released, ...change.dropped, ...change.held.map(({ id }) => id)]);
      const aside = new Set(change.held.map(({ id }) => id));
      const joined = [...done.map((row) => row.entry).filter(({ id }) => !aside.has(id)), ...change.received];
      if (joined.length > 0) log.value = once([...log.value, ...joined]);
      allHeld.value = [...allHeld.value.filter(({ id }) => !gone.has(id)), ...change.held];
      unsent.value = unsent.value.filter((row) => row.n > change.sentUpTo);
      sentUpTo.value = change.sentUpTo;
      skewS.value = outcome.skewS;
    });
    cursor = change.cursor;
    await keep("syncedAt", rfc3339(now()));
    footing.tell();
  }

  /** Somebody else wrote to the store, another tab or a settled answer: see what is there now. */
  async function reload(): Promise<void> {
    let [before, there] = [keeping, await storage.load()];
    while (before !== keeping) [before, there] = [keeping, await storage.load()];
    cursor = there.cursor;
    batch(() => {
      recent.value = there.rows;
      log.value = there.log;
      unsent.value = there.unsent;
      allHeld.value = there.held;
      kept.value = there.kept;
      sentUpTo.value = there.sentUpTo;
    });
  }

  const runner: Runner = startRunner({
    storage,
    wire: footing.wire,
    device,
    now,
    exclusive: footing.exclusive,
    settled,
    changed: (state) => {
      sync.value = state;
    },
    caughtUp: () => {
      if (kept.value["caughtUp"] !== true) void keep("caughtUp", true);
      void renewPlan();
    },
  });
  if (contents.kept["device"] === undefined) void keep("device", device);
  // A phone with nothing on it shows figures before it has fetched the whole log.
  if (contents.kept["plan"] === undefined) {
    opening.value = contents.kept["syncedAt"] === undefined && contents.rows.length === 0;
    first = refreshPlan().finally(() => {
      opening.value = false;
    });
  }

  return {
    coming,
    device,
    entries,
    fresh,
    freshIds,
    held,
    kept,
    known,
    opening,
    plan,
    setUp,
    skewS,
    stale,
    sync,
    syncedAt,
    unsent,
    whole,
    ask,
    stored,
    offer,
    save,
    nudge: (why: Why) => runner.nudge(why),
    stop: () => runner.stop(),
    refreshPlan,

    /** Keep a choice by its name; other pages of the app see it too. */
    async keep(name: string, value: unknown): Promise<void> {
      await keep(name, value);
      footing.tell();
    },

    /** Ask the service for the tally of some days; null if it can't be asked. */
    async tally(since: string, until: string): Promise<Tally | null> {
      const reply = await footing.wire.tally(since, until);
      return reply.type === "answer" ? reply.body : null;
    },

    /** Ask the service where a bucket goes; null if it can't be asked, or has no answer. */
    async route(bucket: readonly unknown[]): Promise<Route | null> {
      const reply = await footing.wire.route(bucket);
      return reply.type === "answer" ? reply.body : null;
    },

    /** Take an entry back: a correction of its own, so that nothing is ever lost. */
    retract: (id: string) => save([{ kind: "correction", of: id, action: "retract" }]),

    /** Mend an entry that is in the log or on its way. */
    amend: (id: string, change: Readonly<Record<string, unknown>>) =>
      save([{ kind: "correction", of: id, action: "replace", with: change }]),

    /** Mend a held entry: the same id, so that it takes the place of what was held. */
    async mend(one: Held, change: Readonly<Record<string, unknown>>): Promise<void> {
      if (one.code !== "id_taken") return append([{ ...one.entry, ...change } as Entry]);
      // Another entry has this id for good: the mended one goes as a new entry.
      await append([{ ...one.entry, ...change, id: uuid7(now().getTime()) } as Entry]);
      await letGo(one);
    },

    letGo,

    reload,

    /** Run something whenever the signals it reads change; used by the page's start. */
    watch: (run: () => void) => effect(run),
  };

  async function letGo(one: Held): Promise<void> {
    const dropped = { ...one, dropped: true };
    await storage.hold(dropped);
    allHeld.value = allHeld.value.map((other) => (other.id === one.id ? dropped : other));
    footing.tell();
    runner.nudge("hand");
  }
}

function once(entries: readonly Entry[]): Entry[] {
  return [...new Map(entries.map((entry) => [entry.id, entry])).values()];
}
