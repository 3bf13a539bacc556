import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import type { Plan } from "../generated/shapes";
import { testService } from "../testing/service";
import { openIndexed } from "./indexed";
import { type Journal, openJournal } from "./journal";

/*
 * A phone with nothing on it shows a plan before the log has come. Once it has come, that plan is either
 * found to be made from all of it, or another is asked for.
 */

const AT = "2026-03-01T07:30:00Z";
const reading = (value: number) => ({
  kind: "reading",
  station: "bed",
  temperature: { value, unit: "degC" },
});
const planOf = (entries: number): Plan => ({ made_from: { entries } }) as Plan;

let service: ReturnType<typeof testService>;
let now: number;
let asked: number;
/** What the service answers with; by default a plan of all it has. */
let planned: () => Promise<Plan | null>;
const open: Journal[] = [];

async function phone(): Promise<Journal> {
  const storage = await openIndexed();
  const journal = openJournal(await storage.load(), {
    storage,
    wire: service.wire,
    planner: {
      plan() {
        asked += 1;
        return planned();
      },
    },
    now: () => new Date(now),
    exclusive: (work) => work(),
    tell: () => undefined,
  });
  open.push(journal);
  return journal;
}

/** Until the log has come, and so long after it that another question would have been asked. */
async function caughtUp(journal: Journal): Promise<void> {
  await vi.waitFor(() => expect(journal.kept.value["caughtUp"]).toBe(true));
  await vi.waitFor(() => expect(journal.sync.value.phase).toBe("idle"));
  for (let turn = 0; turn < 20; turn += 1) await new Promise((done) => setTimeout(done));
}

const made = (journal: Journal) => journal.plan.value?.plan.made_from.entries;

/** A plan that is answered when the test says so. */
function slowly() {
  let say: (plan: Plan | null) => void = () => undefined;
  planned = () =>
    new Promise((done) => {
      say = done;
    });
  return { say: (plan: Plan | null) => say(plan) };
}

beforeEach(() => {
  vi.stubGlobal("indexedDB", new IDBFactory());
  service = testService();
  for (let n = 0; n < 5; n += 1) service.log.push({ id: `theirs${n}`, at: AT, ...reading(n) });
  service.most.handedOut = 2;
  now = Date.parse(AT);
  asked = 0;
  planned = async () => planOf(service.log.length);
});
afterEach(() => {
  for (const journal of open.splice(0)) journal.stop();
});

test("a first plan made from all that came after it is not asked for again, and is known to be so from then on", async () => {
  const journal = await phone();
  journal.nudge("start");
  await caughtUp(journal);
  expect([asked, made(journal), journal.plan.value?.knows, journal.stale.value]).toEqual([1, 5, 5, false]);
  const again = await phone();
  expect([again.plan.value?.knows, again.stale.value]).toEqual([5, false]);
});

test("a first plan that comes after the log is waited for", async () => {
  const plan = slowly();
  const journal = await phone();
  journal.nudge("start");
  await caughtUp(journal);
  expect([asked, made(journal)]).toEqual([1, undefined]);
  plan.say(planOf(5));
  await caughtUp(journal);
  expect([asked, made(journal), journal.stale.value]).toEqual([1, 5, false]);
});

test("where others recorded between the first plan and the log, another plan is asked for", async () => {
  const plan = slowly();
  const journal = await phone();
  plan.say(planOf(5));
  await vi.waitFor(() => expect(made(journal)).toBe(5));
  service.log.push({ id: "later", at: AT, ...reading(9) });
  planned = async () => planOf(service.log.length);
  journal.nudge("start");
  await caughtUp(journal);
  expect([asked, made(journal), journal.stale.value]).toEqual([2, 6, false]);
});

test("where something was recorded here since, another plan is asked for, though as many are known", async () => {
  const plan = slowly();
  const journal = await phone();
  service.log.push({ id: "later", at: AT, ...reading(9) });
  plan.say(planOf(6));
  await vi.waitFor(() => expect(made(journal)).toBe(6));
  // One entry fewer there, one more here: the count is the same, the log is not.
  service.log.pop();
  planned = async () => planOf(service.log.length);
  await journal.save([reading(18)]);
  await caughtUp(journal);
  expect(journal.known.value).toHaveLength(6);
  expect(asked).toBeGreaterThan(1);
  expect(journal.plan.value?.upTo).toBe(1);
});

test("a first plan that was lost on its way is asked for again when the log is there", async () => {
  planned = async () => (asked === 1 ? null : planOf(service.log.length));
  const journal = await phone();
  journal.nudge("start");
  await caughtUp(journal);
  expect([asked, made(journal), journal.stale.value]).toEqual([2, 5, false]);
});

test("a first plan is asked for again where the log took long to come", async () => {
  const journal = await phone();
  await vi.waitFor(() => expect(made(journal)).toBe(5));
  now += 3_600_000;
  journal.nudge("start");
  await caughtUp(journal);
  expect(asked).toBe(2);
});

test("only the first plan is spared: later starts and later looks ask for one of their own day", async () => {
  const first = await phone();
  first.nudge("start");
  await caughtUp(first);
  first.nudge("foreground");
  await caughtUp(first);
  expect(asked).toBe(2);
  const again = await phone();
  again.nudge("start");
  await caughtUp(again);
  expect(asked).toBe(3);
});

test("a plan this phone made meanwhile stays where it is", async () => {
  const plan = slowly();
  const journal = await phone();
  plan.say(planOf(5));
  await vi.waitFor(() => expect(made(journal)).toBe(5));
  planned = async () => null;
  await journal.offer(planOf(7), journal.ask("phone"));
  journal.nudge("start");
  await caughtUp(journal);
  expect([asked, made(journal), journal.plan.value?.by]).toEqual([2, 7, "phone"]);
});
