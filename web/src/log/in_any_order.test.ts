import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { noteOf, openWorld, type Tab } from "../testing/world";
import type { Entry } from "./entry";
import { openIndexed } from "./indexed";
import { STORE_FAILED } from "./step";

/*
 * The real journal, runner and store against a model of the service, through events in any order. What
 * failed is told with its seed: `SEED=17 RUNS=1 npx vitest run in_any_order` shows it again.
 */
const FIRST = Number(process.env["SEED"] ?? 1);
const SEEDS = Array.from({ length: Number(process.env["RUNS"] ?? 30) }, (_, n) => FIRST + n);
const EVENTS = 60;
const WRITE_FAILED: ReadonlySet<string> = new Set(["QuotaExceededError", "AbortError"]);
const DAY_MS = 86_400_000;
/** Longer than the phone waits after a refusal. */
const HEALING_MS = 1_000_000;

beforeEach(() => {
  vi.stubGlobal("indexedDB", new IDBFactory());
  vi.useFakeTimers({ toFake: ["setTimeout", "clearTimeout", "setInterval", "clearInterval", "Date"] });
  vi.setSystemTime(new Date("2026-03-01T07:30:00Z"));
});
afterEach(() => {
  vi.useRealTimers();
});

const ids = (entries: readonly Entry[]) => entries.map((one) => one.id).sort();

async function live(seed: number) {
  const world = openWorld(seed);
  const { random, service, tabs, sky, fails } = world;
  const known = new Set(["bed"]);
  const saved = new Set<string>();
  const letGo = new Set<string>();
  const may = new Set<string>();
  let count = 0;
  const doing: string[] = [];
  service.judgeBy((entry) => (known.has(String(entry.station)) ? null : "unknown_station"));
  service.most.handedOut = random.pick([3, 50, 2000]);

  const awake = () => tabs.filter((one) => one.isAwake());
  const tab = () => random.pick(awake());
  const draft = () => {
    count += 1;
    return { kind: "signs", station: random.pick(["bed", "bed", "bed", "bin", "pond"]), note: `n${count}` };
  };
  const heldOf = (one: Tab) => random.pick([undefined, ...one.journal.held.value]);

  const events: readonly (readonly [weight: number, name: string, run: () => Promise<unknown> | unknown])[] =
    [
      [
        12,
        "save",
        async () => {
          const made = Array.from({ length: 1 + random.below(3) }, draft);
          for (const entry of await tab().journal.save(made)) saved.add(noteOf(entry));
        },
      ],
      [8, "nudge", () => tab().journal.nudge(random.pick(["hand", "online", "foreground", "timer"]))],
      [
        8,
        "weather",
        () => {
          sky.weather = random.pick(["clear", "rough", "rough", "gone", "refusing", "busy", "small"]);
          if (sky.weather === "refusing") may.add("signed_out");
        },
      ],
      [14, "pass", () => world.pass(random.pick([1, 15, 30, 100, 3_000, 12_000, 20_000, 70_000]))],
      [2, "kill", () => random.pick(tabs).kill()],
      [2, "freeze", () => tab().freeze()],
      [3, "wake", () => random.pick(tabs).wake()],
      [3, "open", () => (tabs.length < 3 ? world.open() : undefined)],
      [
        3,
        "learn",
        () => {
          known.add(random.pick(["bin", "pond"]));
          service.letIn();
        },
      ],
      [
        4,
        "others",
        () => {
          count += 1;
          const entry = { id: `theirs-${count}`, kind: "signs", station: "bed", at: "2026-03-01T07:30:00Z" };
          service.log.push({ ...entry, note: `n${count}` } as Entry);
        },
      ],
      [1, "restore", () => service.restore(random.below(service.log.length + 1))],
      [
        5,
        "mend",
        async () => {
          const one = tab();
          const held = heldOf(one);
          if (!held) return;
          // Another entry has the id of a taken one, maybe itself as it was before it was mended.
          const note = held.code === "id_taken" ? `${noteOf(held.entry)} anew` : noteOf(held.entry);
          await one.journal.mend(held, { station: "bed", note }).then(
            () => (held.code === "id_taken" ? letGo.add(noteOf(held.entry)) && saved.add(note) : undefined),
            () => undefined,
          );
        },
      ],
      [
        3,
        "letGo",
        async () => {
          const one = tab();
          const held = heldOf(one);
          if (!held) return;
          letGo.add(noteOf(held.entry));
          await one.journal.letGo(held);
        },
      ],
      [
        5,
        "keep",
        () => {
          count += 1;
          return tab().journal.keep("person", `p${count}`);
        },
      ],
      [
        2,
        "full",
        () => {
          const which = random.pick(["save", "settle"] as const);
          fails[which] += 1;
          if (which === "settle") may.add(STORE_FAILED);
        },
      ],
      [
        2,
        "closeStore",
        () => {
          world.closeStore();
          may.add(STORE_FAILED);
        },
      ],
      [1, "clock", () => vi.setSystemTime(Date.now() + random.pick([-2, -1, 1, 3]) * DAY_MS)],
    ];
  const hat = events.flatMap(([weight, name, run]) => Array.from({ length: weight }, () => ({ name, run })));

  await world.open();
  const surprises: unknown[] = [];
  for (let turn = 0; turn < EVENTS; turn += 1) {
    if (awake().length === 0) await world.open();
    const { name, run } = random.pick(hat);
    doing.push(name);
    const done = (async () => run())().catch((error: unknown) => {
      // A write that failed is told to whoever asked for it; the person sees that, and nothing else happened.
      if (!WRITE_FAILED.has((error as Error).name)) surprises.push(error);
    });
    // Half of the time the next thing happens before this one has ended.
    if (["pass", "open"].includes(name) || random.chance(0.5)) {
      await Promise.race([done, world.rest()]);
    }
  }
  if (awake().length === 0) await world.open();
  const phases = tabs.flatMap((one) => one.phases);

  // Good times: everything gets sent, and nobody presses anything.
  sky.weather = "clear";
  Object.assign(fails, { save: 0, settle: 0 });
  service.letIn();
  const alone = random.chance(0.5);
  const closed = alone || doing.includes("kill");
  if (alone) {
    // One page is left, which nobody tells what the others did: its next answer has to.
    const [left] = awake();
    for (const one of tabs.filter((other) => other !== left)) one.kill();
    left?.journal.nudge("hand");
    await world.pass(60_000);
    const stored = await (await openIndexed()).load();
    expect(ids(left?.journal.known.value ?? []), `alone: ${doing.join(" ")}`).toEqual(ids(stored.log));
  }
  await world.pass(HEALING_MS);
  // A page that sleeps keeps nobody from sending, and catches up when it is woken.
  expect((await (await openIndexed()).load()).unsent, `asleep: ${doing.join(" ")}`).toEqual([]);
  for (const one of tabs) one.wake();
  await world.pass(HEALING_MS);
  const calls = service.calls.length;
  await world.pass(HEALING_MS);
  while (tabs.some((one) => one.journal.sync.value.phase === "sending")) await world.pass(50);
  const story = doing.join(" ");

  expect(surprises, story).toEqual([]);
  // No hot loop: two looks a page in that time, each answered at once.
  expect(service.calls.length - calls, story).toBeLessThanOrEqual(3 * tabs.length);
  for (const phase of [...phases, ...tabs.flatMap((one) => one.phases)]) {
    if (phase.startsWith("blocked")) expect(may, story).toContain(phase.slice("blocked: ".length));
  }
  const notes = service.log.map(noteOf);
  expect(notes.length, `doubled: ${story}`).toBe(new Set(notes).size);
  const there = await (await openIndexed()).load();
  expect(there.unsent, story).toEqual([]);
  const heldHere = new Set(there.held.map((one) => noteOf(one.entry)));
  const heldThere = new Set([...service.held.values()].map(noteOf));
  for (const note of saved) {
    const safe = notes.includes(note) || (heldThere.has(note) && heldHere.has(note)) || letGo.has(note);
    expect(safe, `${note} is lost: ${story}`).toBe(true);
  }
  expect(ids(there.log), `the phone's log is the service's: ${story}`).toEqual(ids(service.log));
  for (const { journal } of tabs) {
    expect(ids(journal.known.value), `on the screen: ${story}`).toEqual(ids(there.log));
    expect(journal.unsent.value, story).toEqual([]);
    expect(journal.held.value.map((one) => one.id).sort(), `held: ${story}`).toEqual(
      there.held.map((one) => one.id).sort(),
    );
    // A choice made on a page that was closed in the same moment is seen at the next start.
    if (!closed) expect(journal.kept.value["person"], `kept: ${story}`).toBe(there.kept["person"]);
    expect(journal.sync.value.phase, story).toBe("idle");
  }
  for (const one of [...tabs]) one.kill();
}

test.each(SEEDS)(
  "nothing is lost, doubled or stuck, whatever happens in whatever order (seed %i)",
  async (seed) => {
    await live(seed);
  },
);
