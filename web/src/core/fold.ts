import { type ReadonlySignal, signal } from "@preact/signals";
import type { Plan, Route, Tally } from "../generated/shapes";
import { rfc3339 } from "../log/clock";
import type { Entry } from "../log/entry";
import type { Journal } from "../log/journal";
import { type Early, lifeOf } from "./early";
import { difference, givenBefore, texts } from "./feeding";
import type { Asked, Boot, Told } from "./messages";
import type { Basis } from "./plans";

/** How the fold on this phone stands, for the screens. */
export type FoldState =
  /** Not begun yet: the app comes first. */
  | { readonly phase: "resting" }
  /** Left out, by a choice made here or because the browser was asked to save data. */
  | { readonly phase: "off"; readonly why: "chosen" | "save_data" }
  | { readonly phase: "fetching" | "starting" }
  /** Its files could not be fetched yet; it is tried again when there is signal. */
  | { readonly phase: "unfetched" }
  | { readonly phase: "ready"; readonly boot: Boot; readonly bootMs: number; readonly planMs: number | null }
  /** It can't plan this log; figures come from the service. */
  | { readonly phase: "unplanned"; readonly detail: string }
  /** It fell. `again` tells whether it is tried once more by itself. */
  | { readonly phase: "broken"; readonly again: boolean; readonly detail: string };

/** One part of a bucket: what it is, and an amount as in a feed entry. */
export type Part = { readonly feedstock: string; readonly amount: unknown };

/** How often the worker fell in this version, over all starts of the app. */
type Falls = { readonly key: string; readonly count: number };

/** What the worker was asked to plan from: a basis, and the ids of entries that were not in the store yet. */
type Question = { readonly basis: Basis; readonly coming: readonly string[] };

/** The memory kept for the next start: when, and how many entries are in it. */
type Kept = { readonly atMs: number; readonly entries: number };

export type FoldFooting = {
  readonly journal: Journal;
  /** Names the version; what it can't do is forgotten with the next one. */
  readonly key: string;
  makeWorker(): Worker;
  /** A worker that was started before the page was drawn. */
  readonly early: Early | null;
  /** Remember whether the next start may be such an early one. */
  sign(early: boolean): void;
  /** Forget the files that were fetched, since the worker doesn't start from them. */
  dropFiles(): Promise<unknown>;
  now(): Date;
};

export type Fold = {
  readonly state: ReadonlySignal<FoldState>;
  /** Start the worker if it isn't there; `byHand` gives one that fell too often another chance. */
  begin(byHand?: boolean): void;
  /**
   * Where a bucket goes, by the log the last plan was made from; null while no such plan was made here,
   * or when nobody answers.
   */
  route(bucket: readonly Part[]): Promise<Route | null>;
  /** The tally of the days from one to another, both included; null as for `route`. */
  tally(since: string, until: string): Promise<Tally | null>;
  /** Make a plan if the one on the screen misses something, or is older than this. */
  consider(oldMs: number): void;
  end(state: FoldState): void;
};

/** So many waits with no word from the worker are too many. A phone that sleeps through one counts one. */
const PATIENCE = 18;
const WAIT_MS = 10_000;
/** The same log is not planned twice within this time, whatever asks for it. */
const AGAIN_MS = 60_000;
/** Falls after which the version is left alone, and the waits between. */
const WAITS_MS = [1_000, 15_000];
/** The memory is kept anew for so many entries more, or after so long; when nothing was asked for a while. */
const KEEP_ENTRIES = 100;
const KEEP_MS = 86_400_000;
const QUIET_MS = 3_000;
/** Entries that came from others: the service's own plan is on its way, most likely. */
const OTHERS_MS = 2_000;

export function openFold(footing: FoldFooting): Fold {
  const { journal, key, now } = footing;
  const state = signal<FoldState>({ phase: "resting" });
  let given = new Map<string, Entry>();
  let early = footing.early;
  let worker: Worker | null = null;
  let question: Question | null = null;
  /** The answer to it, until the store has all that it knows. */
  let answer: { readonly text: string; readonly ms: number } | null = null;
  let last: {
    readonly upTo: number;
    readonly knows: number;
    readonly atMs: number;
    readonly restMs: number;
  } | null = null;
  let asks = 0;
  const waiting = new Map<number, (text: string | null) => void>();
  let patience: ReturnType<typeof setInterval> | undefined;
  let soon: ReturnType<typeof setTimeout> | undefined;
  let quiet: ReturnType<typeof setTimeout> | undefined;
  let due = Number.POSITIVE_INFINITY;
  let kept: Kept | null = null;
  let opened: { readonly boot: Boot; readonly bootMs: number } = { boot: "plain", bootMs: 0 };

  const falls = (): number => {
    const kept = journal.kept.peek()["falls"] as Falls | undefined;
    return kept?.key === key ? kept.count : 0;
  };
  const noteFalls = (count: number) => void journal.keep("falls", { key, count } satisfies Falls);
  /** A clock that was put right may have gone back: by so much what was made before is old. */
  const sinceMs = (ms: number): number => Math.abs(now().getTime() - ms);
  const post = (asked: Asked) => worker?.postMessage(asked);

  function begin(byHand = false): void {
    if (worker !== null) return;
    const before = byHand ? 0 : falls();
    if (before > WAITS_MS.length) {
      state.value = { phase: "broken", again: false, detail: "" };
      return;
    }
    // After a fall the memory kept from an earlier start is not trusted, nor is a worker that took it.
    const trusted = before === 0;
    const first = trusted ? early : null;
    if (!first) early?.worker.terminate();
    early = null;
    const made = first?.worker ?? footing.makeWorker();
    const life = first?.life ?? lifeOf();
    worker = made;
    made.onmessage = ({ data }: MessageEvent<Told>) => {
      if (worker === made) hear(data, life);
    };
    made.onerror = (event) => {
      event.preventDefault?.();
      if (worker === made) fall(event.message || "error");
    };
    state.value = { phase: "starting" };
    wait();
    if (!first) post({ type: "open", restore: trusted, life });
    for (const told of first?.told ?? []) hear(told, life);
  }

  function wait(): void {
    clearInterval(patience);
    let left = PATIENCE;
    patience = setInterval(() => {
      left -= 1;
      if (left === 0) fall("no answer");
    }, WAIT_MS);
  }

  function hear(told: Told, life: string): void {
    switch (told.type) {
      case "fetching":
        state.value = { phase: "fetching" };
        wait();
        break;
      case "unfetched":
        end({ phase: "unfetched" });
        break;
      case "opened":
        clearInterval(patience);
        opened = { boot: told.boot, bootMs: told.ms };
        state.value = { phase: "ready", ...opened, planMs: null };
        if (told.boot === "plain") footing.sign(false);
        given = givenBefore(told.holds, told.loose, journal.known.peek());
        kept =
          told.boot === "plain" ? null : ((journal.kept.peek()["foldMemory"] as Kept | undefined) ?? null);
        watch(life);
        consider(0);
        break;
      case "planned":
        if (told.ask !== question?.basis.order) break;
        clearInterval(patience);
        answer = told;
        planned();
        break;
      case "unplanned":
        if (question !== null) {
          const { basis, coming } = question;
          answered(journal.stored(basis, coming) ?? basis, Number.POSITIVE_INFINITY);
        }
        state.value = { phase: "unplanned", detail: told.detail };
        break;
      case "answered":
        waiting.get(told.ask)?.(told.text);
        waiting.delete(told.ask);
        break;
      case "kept":
        if (told.bytes > 0) void journal.keep("foldMemory", kept);
        footing.sign(told.bytes > 0);
        break;
      case "broken":
        fall(told.detail);
        break;
    }
  }

  /** A worker that dies says nothing, but the lock it held is free then. */
  function watch(life: string): void {
    const mine = worker;
    void navigator.locks?.request(life, () => {
      if (worker === mine) fall("ended");
    });
  }

  /** Show the plan that was made, once all it knows is in the store: nothing is shown before it is saved. */
  function planned(): void {
    if (question === null || answer === null) return;
    const { basis: asked, coming } = question;
    const { text, ms } = answer;
    if (journal.coming.peek().some(({ id }) => coming.includes(id))) return;
    const basis = journal.stored(asked, coming);
    if (basis === null) {
      // The store took it not: the worker has to forget it again.
      question = answer = last = null;
      schedule(0);
      return;
    }
    answered(basis, AGAIN_MS);
    state.value = { phase: "ready", ...opened, planMs: ms };
    if (falls() > 0) noteFalls(0);
    void journal.offer(JSON.parse(text) as Plan, basis).catch(() => undefined);
    consider(Number.POSITIVE_INFINITY);
    clearTimeout(quiet);
    quiet = setTimeout(keep, QUIET_MS);
  }

  /** Keep the interpreter with its log for the next start, when much has come to it since the last time. */
  function keep(): void {
    if (worker === null || question !== null) return;
    const grown = given.size - (kept?.entries ?? 0);
    const old = now().getTime() - (kept?.atMs ?? 0) > KEEP_MS;
    if (kept !== null && grown < KEEP_ENTRIES && !old) return;
    kept = { atMs: now().getTime(), entries: given.size };
    const unsent = new Set(journal.unsent.peek().map((row) => row.entry.id));
    post({ type: "keep", loose: JSON.stringify([...given.values()].filter(({ id }) => unsent.has(id))) });
  }

  function answered({ upTo, knows }: Basis, restMs: number): void {
    last = { upTo, knows, atMs: now().getTime(), restMs };
    question = answer = null;
    clearInterval(patience);
  }

  function consider(oldMs: number): void {
    planned();
    if (worker === null || question !== null || !journal.whole.peek()) return;
    if (state.peek().phase !== "ready" && state.peek().phase !== "unplanned") return;
    const there = journal.plan.peek();
    const age = there === null ? Number.POSITIVE_INFINITY : sinceMs(Date.parse(there.gotAt));
    const mine = journal.coming.peek().length > 0 || journal.fresh.peek().length > 0;
    if (!journal.stale.peek() && journal.coming.peek().length === 0 && age < oldMs) return;
    const fromOthers = there?.by === "service" && !mine && age < oldMs;
    schedule(fromOthers ? OTHERS_MS : 0);
  }

  /** Plan after a while; or at once, when what the same press has yet to save is on its way too. */
  function schedule(afterMs: number): void {
    const at = now().getTime() + afterMs;
    if (at >= due) return;
    clearTimeout(soon);
    due = at;
    const run = () => {
      due = Number.POSITIVE_INFINITY;
      void plan();
    };
    if (afterMs === 0) queueMicrotask(run);
    else soon = setTimeout(run, afterMs);
  }

  async function plan(): Promise<void> {
    const mine = worker;
    if (mine === null || question !== null) return;
    const [basis, coming] = [journal.ask("phone"), journal.coming.peek()];
    const same = coming.length === 0 && last?.upTo === basis.upTo && last.knows === basis.knows;
    if (same && sinceMs(last?.atMs ?? 0) < (last?.restMs ?? 0)) return;
    question = { basis, coming: coming.map(({ id }) => id) };
    wait();
    const { anew, added } = await difference(given, [...journal.known.peek(), ...coming]);
    if (worker !== mine) return;
    if (anew) post({ type: "forget" });
    for await (const text of texts(added)) {
      if (worker !== mine) return;
      post({ type: "take", text });
    }
    post({ type: "plan", ask: basis.order, at: rfc3339(now()) });
  }

  function inquire<T>(name: "route" | "tally", about: unknown): Promise<T | null> {
    const there = state.peek();
    if (worker === null || there.phase !== "ready" || there.planMs === null) return Promise.resolve(null);
    asks += 1;
    const ask = asks;
    post({ type: "question", ask, name, text: JSON.stringify(about), at: rfc3339(now()) });
    return new Promise((done) => waiting.set(ask, (text) => done(text === null ? null : JSON.parse(text))));
  }

  function fall(detail: string): void {
    const count = falls() + 1;
    noteFalls(count);
    footing.sign(false);
    const waitMs = WAITS_MS[count - 1];
    end({ phase: "broken", again: waitMs !== undefined, detail });
    if (waitMs === undefined) return;
    if (count === WAITS_MS.length) void footing.dropFiles().catch(() => undefined);
    setTimeout(() => begin(), waitMs);
  }

  function end(left: FoldState): void {
    clearInterval(patience);
    clearTimeout(soon);
    clearTimeout(quiet);
    early?.worker.terminate();
    early = null;
    worker?.terminate();
    worker = null;
    question = answer = null;
    due = Number.POSITIVE_INFINITY;
    for (const done of waiting.values()) done(null);
    waiting.clear();
    given.clear();
    state.value = left;
  }

  return {
    state,
    begin,
    consider,
    end,
    route: (bucket) => inquire<Route>("route", bucket),
    tally: (since, until) => inquire<Tally>("tally", { since, until }),
  };
}
