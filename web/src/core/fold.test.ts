import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import type { Plan } from "../generated/shapes";
import type { Entry } from "../log/entry";
import { openIndexed } from "../log/indexed";
import { type Journal, openJournal } from "../log/journal";
import { testService } from "../testing/service";
import { TestWorker } from "../testing/worker";
import type { Early } from "./early";
import { type Fold, openFold } from "./fold";

let service: ReturnType<typeof testService>;
let journal: Journal;
let workers: TestWorker[];
let dropped: number;
let signed: boolean | null;
let servicePlan: Plan | null;
let fold: Fold;
/** What a save waits for before the store gets it. */
let disk: Promise<void>;

const worker = () => workers.at(-1) as TestWorker;
const reading = { kind: "reading", station: "bed", temperature: { value: 18, unit: "degC" } };
const shown = () => journal.plan.value?.plan.made_from.entries;

async function phone(early: Early | null = null): Promise<void> {
  const store = await openIndexed();
  const storage = { ...store, save: (entries: readonly Entry[]) => disk.then(() => store.save(entries)) };
  journal = openJournal(await storage.load(), {
    storage,
    wire: service.wire,
    planner: { plan: async () => servicePlan },
    now: () => new Date(),
    exclusive: (work) => work(),
    tell: () => undefined,
  });
  fold = openFold({
    journal,
    key: "this version",
    makeWorker: () => {
      workers.push(new TestWorker());
      return worker() as unknown as Worker;
    },
    early,
    sign: (early) => {
      signed = early;
    },
    dropFiles: async () => {
      dropped += 1;
    },
    now: () => new Date(),
  });
}

beforeEach(async () => {
  vi.useFakeTimers({ toFake: ["setTimeout", "clearTimeout", "setInterval", "clearInterval", "Date"] });
  vi.stubGlobal("indexedDB", new IDBFactory());
  service = testService();
  service.cut.before = true;
  workers = [];
  dropped = 0;
  signed = null;
  servicePlan = null;
  disk = Promise.resolve();
  await phone();
});
afterEach(() => {
  fold.end({ phase: "resting" });
  journal.stop();
  vi.useRealTimers();
});

/** Save an entry as the screens do, and let the fold look. */
async function save(): Promise<void> {
  await journal.save([reading]);
  fold.consider(Number.POSITIVE_INFINITY);
  await vi.advanceTimersByTimeAsync(50);
}

test("an entry recorded here is told to the worker, and its plan is shown", async () => {
  fold.begin();
  worker().open();
  await save();
  expect(worker().log).toHaveLength(1);
  worker().plan();
  expect(shown()).toBe(1);
  expect(journal.plan.value).toMatchObject({ by: "phone", upTo: 1 });
  expect(journal.stale.value).toBe(false);
});

test("the worker plans while an entry is on its way to the disk, and nothing is shown before it is there", async () => {
  let arrive: () => void = () => undefined;
  disk = new Promise((done) => {
    arrive = done;
  });
  fold.begin();
  worker().open();
  await vi.advanceTimersByTimeAsync(50);
  worker().plan();
  const saved = save();
  fold.consider(Number.POSITIVE_INFINITY);
  await vi.advanceTimersByTimeAsync(50);
  expect(worker().log).toHaveLength(1);
  worker().plan();
  expect(shown()).toBe(0);
  arrive();
  await saved;
  expect(shown()).toBe(1);
  expect(journal.plan.value).toMatchObject({ upTo: 1, knows: 1 });
  expect(journal.stale.value).toBe(false);
  expect(worker().questions).toBe(2);
});

test("an entry the disk didn't take is forgotten by the worker, and no plan that knows it is shown", async () => {
  fold.begin();
  worker().open();
  await save();
  worker().plan();
  let refuse: () => void = () => undefined;
  disk = new Promise((_, fail) => {
    refuse = () => fail(new Error("full"));
  });
  const saved = save();
  fold.consider(Number.POSITIVE_INFINITY);
  await vi.advanceTimersByTimeAsync(50);
  expect(worker().log).toHaveLength(2);
  worker().plan();
  refuse();
  await expect(saved).rejects.toThrow("full");
  fold.consider(Number.POSITIVE_INFINITY);
  await vi.advanceTimersByTimeAsync(50);
  expect(shown()).toBe(1);
  expect(worker().log.map((one) => one.id)).toEqual(journal.known.value.map((one) => one.id));
  worker().plan();
  expect(shown()).toBe(1);
});

test("a plan made while the clock was a day ahead is made anew once that is put right", async () => {
  fold.begin();
  worker().open();
  vi.setSystemTime(Date.now() + 86_400_000);
  await save();
  worker().plan();
  vi.setSystemTime(Date.now() - 86_400_000);
  expect(worker().questions).toBe(1);
  fold.consider(600_000);
  await vi.advanceTimersByTimeAsync(50);
  expect(worker().questions).toBe(2);
});

test("the next entry is told alone, and one question is out at a time", async () => {
  fold.begin();
  worker().open();
  await save();
  await save();
  expect(worker().questions).toBe(1);
  worker().plan();
  await vi.advanceTimersByTimeAsync(50);
  worker().plan();
  expect(shown()).toBe(2);
  expect(worker().log.map((one) => one.id)).toEqual(journal.known.value.map((one) => one.id));
});

test("a plan of the service that was asked before an entry was saved doesn't take it out of sight", async () => {
  fold.begin();
  worker().open();
  let answer: (plan: Plan) => void = () => undefined;
  servicePlan = new Promise((done) => {
    answer = done;
  }) as unknown as Plan;
  const asked = journal.refreshPlan();
  await save();
  worker().plan();
  answer({ made_from: { entries: 0 } } as Plan);
  await asked;
  expect(shown()).toBe(1);
});

test("while the whole log has not come from the service, no plan is made of a part of it", async () => {
  servicePlan = { made_from: { entries: 500 } } as Plan;
  await journal.refreshPlan();
  fold.begin();
  worker().open();
  await save();
  await vi.advanceTimersByTimeAsync(10_000);
  expect(worker().questions).toBe(0);
});

test("a fall is told, waited out and tried again without the kept memory; the third is the last", async () => {
  fold.begin();
  worker().say({ type: "broken", detail: "no memory" });
  expect(fold.state.value).toEqual({ phase: "broken", again: true, detail: "no memory" });
  await vi.advanceTimersByTimeAsync(60_000);
  expect(worker().heard[0]).toMatchObject({ type: "open", restore: false });
  worker().say({ type: "broken", detail: "no memory" });
  expect(dropped).toBe(1);
  await vi.advanceTimersByTimeAsync(60_000);
  worker().say({ type: "broken", detail: "no memory" });
  expect(fold.state.value).toMatchObject({ phase: "broken", again: false });
  await vi.advanceTimersByTimeAsync(600_000);
  fold.begin();
  expect(workers).toHaveLength(3);
  expect(workers.every((one) => one.ended)).toBe(true);
  fold.begin(true);
  expect(workers).toHaveLength(4);
});

test("a worker that says nothing for minutes is let go", async () => {
  fold.begin();
  await vi.advanceTimersByTimeAsync(179_000);
  expect(fold.state.value.phase).toBe("starting");
  await vi.advanceTimersByTimeAsync(1_500);
  expect(fold.state.value).toMatchObject({ phase: "broken", detail: "no answer" });
});

test("a plan made well forgets the falls before it", async () => {
  fold.begin();
  worker().say({ type: "broken", detail: "once" });
  await vi.advanceTimersByTimeAsync(60_000);
  worker().open();
  await save();
  worker().plan();
  expect(journal.kept.value["falls"]).toMatchObject({ count: 0 });
});

test("a log the fold can't plan is not asked about again until it has changed", async () => {
  fold.begin();
  worker().open();
  await save();
  worker().say({ type: "unplanned", ask: 0, detail: "ValueError" });
  expect(fold.state.value).toEqual({ phase: "unplanned", detail: "ValueError" });
  fold.consider(0);
  await vi.advanceTimersByTimeAsync(10_000);
  expect(worker().questions).toBe(1);
  await save();
  expect(worker().questions).toBe(2);
});

test("a bucket is asked about once a plan was made here, and answered by its number", async () => {
  fold.begin();
  worker().open();
  expect(await fold.route([])).toBeNull();
  await save();
  worker().plan();
  const bread = [{ feedstock: "bread", amount: { value: 1, unit: "kg" } }];
  const [first, second] = [fold.route(bread), fold.route([])];
  const asked = worker().heard.flatMap((one) => (one.type === "question" ? [one] : []));
  expect(asked.map((one) => JSON.parse(one.text))).toEqual([bread, []]);
  worker().say({ type: "answered", ask: asked[1]?.ask ?? 0, text: null });
  worker().say({ type: "answered", ask: asked[0]?.ask ?? 0, text: '{"shares":[]}' });
  expect(await first).toEqual({ shares: [] });
  expect(await second).toBeNull();
});

test("a worker that falls leaves no question open", async () => {
  fold.begin();
  worker().open();
  await save();
  worker().plan();
  const asked = fold.route([]);
  worker().say({ type: "broken", detail: "gone" });
  expect(await asked).toBeNull();
});

test("files that can't be fetched are no fall", async () => {
  fold.begin();
  worker().say({ type: "unfetched" });
  expect(fold.state.value.phase).toBe("unfetched");
  expect(journal.kept.value["falls"]).toBeUndefined();
  fold.begin();
  expect(workers).toHaveLength(2);
});

test("the memory is kept when all is quiet, with what could still change", async () => {
  fold.begin();
  worker().open();
  await save();
  worker().plan();
  await vi.advanceTimersByTimeAsync(5_000);
  const keep = worker().heard.find((asked) => asked.type === "keep");
  expect(JSON.parse(keep?.type === "keep" ? keep.loose : "null")).toEqual(journal.known.value);
  expect(signed).toBe(false);
  worker().say({ type: "kept", bytes: 7, ms: 1 });
  expect(signed).toBe(true);
  await save();
  worker().plan();
  await vi.advanceTimersByTimeAsync(5_000);
  expect(worker().heard.filter((asked) => asked.type === "keep")).toHaveLength(1);
});

test("a restored worker is told only what it doesn't hold", async () => {
  await save();
  const [held] = journal.known.value;
  fold.begin();
  worker().open(held?.id, JSON.stringify([held]));
  await save();
  expect(worker().log.map((one) => one.id)).toEqual([journal.known.value[1]?.id]);
});

test("a worker that was started early is taken over with what it has told", async () => {
  await save();
  const [held] = journal.known.value;
  const made = new TestWorker();
  const told = { type: "opened", boot: "restored", ms: 9, holds: String(held?.id), loose: "[]" } as const;
  await phone({ worker: made as unknown as Worker, life: "one", told: [told] });
  fold.begin();
  expect(workers).toHaveLength(0);
  expect(fold.state.value).toMatchObject({ phase: "ready", bootMs: 9 });
  await vi.advanceTimersByTimeAsync(50);
  expect(made.log).toHaveLength(0);
  made.plan();
  expect(journal.plan.value?.by).toBe("phone");
});

test("a worker that was started early is let go if it isn't wanted, or fell the last time", async () => {
  const unwanted = new TestWorker();
  await phone({ worker: unwanted as unknown as Worker, life: "one", told: [] });
  fold.end({ phase: "off", why: "chosen" });
  expect(unwanted.ended).toBe(true);
  await journal.keep("falls", { key: "this version", count: 1 });
  const fell = new TestWorker();
  await phone({ worker: fell as unknown as Worker, life: "two", told: [] });
  await journal.keep("falls", { key: "this version", count: 1 });
  fold.begin();
  expect(fell.ended).toBe(true);
  expect(worker().heard[0]).toMatchObject({ type: "open", restore: false });
});
