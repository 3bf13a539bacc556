import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import type { Plan } from "../generated/shapes";
import { testService } from "../testing/service";
import { openIndexed } from "./indexed";
import { type Journal, openJournal } from "./journal";
import type { Storage } from "./storage";

let service: ReturnType<typeof testService>;
let open: Journal[] = [];

/** Open the app on this phone, as a start of the page does. */
async function phone(around: (storage: Storage) => Storage = (storage) => storage): Promise<Journal> {
  const storage = around(await openIndexed());
  const journal = openJournal(await storage.load(), {
    storage,
    wire: service.wire,
    planner: { plan: async () => null },
    now: () => new Date(),
    exclusive: (work) => work(),
    tell: () => undefined,
  });
  open.push(journal);
  return journal;
}

const settled = (journal: Journal) =>
  vi.waitFor(() => expect(["idle", "waiting", "blocked"]).toContain(journal.sync.value.phase));

const reading = (value: number) => ({
  kind: "reading",
  station: "bed",
  temperature: { value, unit: "degC" },
});

beforeEach(() => {
  vi.stubGlobal("indexedDB", new IDBFactory());
  service = testService();
  open = [];
});
afterEach(() => {
  for (const journal of open) journal.stop();
});

test("an entry saved with nobody there stays unsent, and arrives once when somebody is", async () => {
  service.cut.before = true;
  const journal = await phone();
  await journal.save([reading(18)]);
  await settled(journal);
  expect(journal.unsent.value).toHaveLength(1);
  service.cut.before = false;
  journal.nudge("hand");
  await vi.waitFor(() => expect(journal.unsent.value).toHaveLength(0));
  expect(service.log).toHaveLength(1);
  expect(journal.entries.value).toHaveLength(1);
});

test("an entry saved while a call with nothing to send is out goes after it, and nothing is blocked", async () => {
  const journal = await phone();
  await settled(journal);
  const phases: string[] = [];
  journal.watch(() => phases.push(journal.sync.value.phase));
  const sync = service.wire.sync;
  vi.spyOn(service.wire, "sync").mockImplementationOnce(async (call) => {
    await journal.save([reading(18)]);
    return sync(call);
  });
  journal.nudge("timer");
  await vi.waitFor(() => expect(service.log).toHaveLength(1));
  await settled(journal);
  expect(phases).not.toContain("blocked");
});

test("an answer lost on its way back leads to the same entry again, never to two", async () => {
  service.cut.after = true;
  const journal = await phone();
  await journal.save([reading(18), reading(19)]);
  await settled(journal);
  expect(journal.unsent.value).toHaveLength(2);
  service.cut.after = false;
  const again = await phone();
  again.nudge("start");
  await vi.waitFor(() => expect(again.unsent.value).toHaveLength(0));
  expect(service.log).toHaveLength(2);
});

test("ten thousand entries drain in ten calls", async () => {
  const storage = await openIndexed();
  await storage.save(
    Array.from({ length: 10_000 }, (_, n) => ({ id: `r${n}`, at: "2026-03-01T07:30:00Z", ...reading(n) })),
  );
  const journal = await phone();
  journal.nudge("start");
  await vi.waitFor(() => expect(journal.unsent.value).toHaveLength(0), 20_000);
  await settled(journal);
  expect(service.calls.map((call) => call.entries.length)).toEqual(Array(10).fill(1_000));
}, 30_000);

test("a wire cut at random loses nothing and doubles nothing", async () => {
  let journal = await phone();
  const saved: string[] = [];
  for (let turn = 0; turn < 60; turn += 1) {
    service.cut.before = turn % 3 === 0;
    service.cut.after = turn % 5 === 0;
    if (turn % 7 === 0) {
      journal.stop();
      journal = await phone();
    }
    const [entry] = await journal.save([reading(turn)]);
    if (entry) saved.push(entry.id);
    if (turn % 4 === 0) journal.nudge("hand");
  }
  service.cut.before = false;
  service.cut.after = false;
  await vi.waitFor(() => {
    if (journal.sync.value.phase !== "sending") journal.nudge("hand");
    expect(journal.unsent.value).toHaveLength(0);
  });
  expect(service.log.map((entry) => entry.id).sort()).toEqual([...saved].sort());
});

test("what others wrote is fetched, and not fetched again", async () => {
  service.log.push({ id: "theirs", kind: "signs", at: "2026-03-01T07:30:00Z", signs: ["all_well"] });
  const journal = await phone();
  journal.nudge("start");
  await vi.waitFor(() => expect(journal.entries.value.map((one) => one.id)).toEqual(["theirs"]));
  const again = await phone();
  again.nudge("start");
  await settled(again);
  expect(again.entries.value.map((one) => one.id)).toEqual(["theirs"]);
  expect(service.calls.at(-1)?.cursor).toBe(1);
});

test("a held entry stays in sight, is mended under its own id, and is then in the log", async () => {
  service.judgeBy((entry) => (entry.station === "bed" ? null : "unknown_station"));
  const journal = await phone();
  await journal.save([{ ...reading(18), station: "bad" }]);
  await vi.waitFor(() => expect(journal.held.value).toHaveLength(1));
  const [one] = journal.held.value;
  if (one === undefined) throw new Error("nothing is held");
  expect(journal.entries.value).toHaveLength(0);
  await journal.mend(one, { station: "bed" });
  expect(journal.held.value).toHaveLength(0);
  await vi.waitFor(() => expect(service.log.map((entry) => entry.id)).toEqual([one.id]));
  await vi.waitFor(() => expect(journal.entries.value.map((entry) => entry.station)).toEqual(["bed"]));
});

test("an entry held because its id was taken goes as a new one when it is mended", async () => {
  const journal = await phone();
  service.cut.before = true;
  const [entry] = await journal.save([reading(18)]);
  await settled(journal);
  if (entry === undefined) throw new Error("nothing was saved");
  service.log.push({ ...entry, note: "somebody else's" });
  service.cut.before = false;
  journal.nudge("hand");
  await vi.waitFor(() => expect(journal.held.value[0]?.code).toBe("id_taken"));
  const [one] = journal.held.value;
  if (one) await journal.mend(one, { note: "mine" });
  await vi.waitFor(() => expect(service.log).toHaveLength(2));
  await vi.waitFor(() => expect(service.dropped).toEqual([entry.id]));
});

test("letting a held entry go waits for the service to hear of it", async () => {
  service.judgeBy(() => "unknown_station");
  const journal = await phone();
  await journal.save([reading(18)]);
  await vi.waitFor(() => expect(journal.held.value).toHaveLength(1));
  service.cut.before = true;
  const [one] = journal.held.value;
  if (one) await journal.letGo(one);
  await settled(journal);
  expect(service.dropped).toEqual([]);
  const again = await phone();
  expect(again.held.value).toHaveLength(0);
  service.cut.before = false;
  again.nudge("start");
  await vi.waitFor(() => expect(service.dropped).toEqual([one?.id]));
  await settled(again);
  expect((await phone()).held.value).toHaveLength(0);
});

test("a choice made while the page looks anew at its store stays on the screen", async () => {
  let choose: (() => Promise<void>) | undefined;
  const journal = await phone((storage) => ({
    ...storage,
    async load() {
      const there = await storage.load();
      const chosen = choose?.();
      choose = undefined;
      await chosen;
      return there;
    },
  }));
  choose = () => journal.keep("person", "kit");
  await journal.reload();
  expect(journal.kept.value["person"]).toBe("kit");
});

test("what another page stored, and was closed before it could say so, is on the screen after the next answer", async () => {
  const journal = await phone();
  journal.nudge("start");
  await settled(journal);
  const theirs = { id: "theirs", at: "2026-03-01T07:30:00Z", ...reading(19) };
  service.log.push(theirs);
  const other = await openIndexed();
  await other.save([{ id: "unheard", at: "2026-03-01T07:30:00Z", ...reading(18) }]);
  const { rows: _, held: __, ...mark } = await other.unsent(1);
  const none = { again: false, held: [], released: [], dropped: [] };
  await other.settle({ ...mark, ...none, cursor: 1, received: [theirs] }, mark);
  journal.nudge("timer");
  await vi.waitFor(() => expect(service.log).toHaveLength(2));
  await settled(journal);
  await vi.waitFor(() =>
    expect(journal.known.value.map((one) => one.id).sort()).toEqual(["theirs", "unheard"]),
  );
});

test("an entry another page has had held is released by the answer that this one hears", async () => {
  let known = "bed";
  service.judgeBy((entry) => (entry.station === known ? null : "unknown_station"));
  const [one, other] = [await phone(), await phone()];
  await one.save([{ ...reading(18), station: "bin" }]);
  await vi.waitFor(() => expect(one.held.value).toHaveLength(1));
  known = "bin";
  service.letIn();
  other.nudge("timer");
  await vi.waitFor(async () => expect((await (await openIndexed()).load()).log).toHaveLength(1));
  expect((await phone()).held.value).toEqual([]);
});

test("with nobody there what was let go keeps nothing waiting behind it", async () => {
  service.judgeBy((entry) => (entry.station === "bed" ? null : "unknown_station"));
  const journal = await phone();
  await journal.save([1, 2, 3].map((n) => ({ ...reading(n), station: "bin" })));
  await vi.waitFor(() => expect(journal.held.value).toHaveLength(3));
  await settled(journal);
  service.cut.before = true;
  for (const one of journal.held.value) await journal.letGo(one);
  await settled(journal);
  const drop = vi.spyOn(service.wire, "drop");
  const calls = service.calls.length;
  journal.nudge("timer");
  await vi.waitFor(() => expect(service.calls.length).toBe(calls + 1));
  expect(drop).toHaveBeenCalledTimes(1);
  service.cut.before = false;
  journal.nudge("online");
  await vi.waitFor(() => expect(service.dropped).toHaveLength(3));
});

test("taking an entry back writes a correction; nothing is deleted", async () => {
  const journal = await phone();
  const [entry] = await journal.save([reading(18)]);
  if (entry) await journal.retract(entry.id);
  expect(journal.entries.value).toHaveLength(0);
  await vi.waitFor(() => expect(service.log.map((one) => one.kind)).toEqual(["reading", "correction"]));
});

test("a thousand and one entries go in two calls", async () => {
  service.cut.before = true;
  const journal = await phone();
  await journal.save(Array.from({ length: 1001 }, (_, n) => reading(n)));
  await settled(journal);
  service.calls.length = 0;
  service.cut.before = false;
  journal.nudge("hand");
  await vi.waitFor(() => expect(journal.unsent.value).toHaveLength(0), 10_000);
  expect(service.calls.map((call) => call.entries.length)).toEqual([1000, 1]);
  expect(service.log).toHaveLength(1001);
});

test("entries made since the plan on the screen are counted, until a plan knows them", async () => {
  const planned = { at: "2026-03-01T07:30:00Z", made_from: { entries: 0 } } as unknown as Plan;
  const storage = await openIndexed();
  const journal = openJournal(await storage.load(), {
    storage,
    wire: service.wire,
    planner: { plan: async () => planned },
    now: () => new Date(),
    exclusive: (work) => work(),
    tell: () => undefined,
  });
  open.push(journal);
  await vi.waitFor(() => expect(journal.plan.value?.plan).toBe(planned));
  service.cut.before = true;
  await journal.save([reading(18), reading(19)]);
  await settled(journal);
  expect(journal.fresh.value).toHaveLength(2);
  service.cut.before = false;
  journal.nudge("hand");
  await vi.waitFor(() => expect(journal.fresh.value).toHaveLength(0));
});

test("after a restore the service gets again what its backup lacked", async () => {
  const journal = await phone();
  await journal.save([reading(20)]);
  await settled(journal);
  await journal.save([reading(21), reading(22)]);
  await settled(journal);
  service.restore(1);
  await journal.save([reading(23)]);
  await vi.waitFor(() => expect(service.log.length).toBe(4));
  await settled(journal);
  await vi.waitFor(() => expect(journal.unsent.value).toEqual([]));
  expect(new Set(service.log.map((one) => one.id)).size).toBe(4);
  expect(journal.known.value.length).toBe(4);
  const again = await phone();
  await settled(again);
  expect(again.known.value.length).toBe(4);
});

test("the entry that has the id of a held one counts in the plan all the same", async () => {
  const journal = await phone();
  service.cut.before = true;
  const [entry] = await journal.save([reading(18)]);
  await settled(journal);
  if (entry === undefined) throw new Error("nothing was saved");
  const theirs = { ...entry, note: "somebody else's" };
  service.log.push(theirs);
  service.cut.before = false;
  journal.nudge("hand");
  await vi.waitFor(() => expect(journal.held.value[0]?.code).toBe("id_taken"));
  service.log.push({ ...entry, id: "a-third" });
  journal.nudge("hand");
  await vi.waitFor(() => expect(journal.known.value.map((one) => one.id)).toContain("a-third"));
  expect(journal.held.value.map((one) => one.id)).toEqual([entry.id]);
});

test("a service newer than the app: what the app doesn't know is kept as it came, and a hold it can't explain is in sight", async () => {
  const theirs = { id: "theirs", kind: "moon_phase", at: "2026-03-01T07:30:00Z", phase: { new: true } };
  service.log.push(theirs);
  service.judgeBy((entry) => (entry.station === "bed" ? "waits_for_the_moon" : null));
  const plain = service.wire.sync;
  service.wire.sync = async (call) => {
    const reply = await plain(call);
    return reply.type === "answer" ? { ...reply, body: { ...reply.body, tide: "high" } as never } : reply;
  };
  const journal = await phone();
  await journal.save([reading(18), { ...reading(19), station: "bin" }]);
  await settled(journal);
  await vi.waitFor(() => expect(journal.unsent.value).toHaveLength(0));
  expect(journal.known.value.find((one) => one.id === "theirs")).toEqual(theirs);
  expect(journal.held.value.map((one) => one.code)).toEqual(["waits_for_the_moon"]);
  const again = await phone();
  expect(again.known.value.find((one) => one.id === "theirs")).toEqual(theirs);
  expect(again.held.value).toHaveLength(1);
});

test("a service older than the app, which names neither its log nor a clock, is followed all the same", async () => {
  service.log.push({ id: "theirs", kind: "signs", at: "2026-03-01T07:30:00Z", signs: ["all_well"] });
  const plain = service.wire.sync;
  service.wire.sync = async (call) => {
    const reply = await plain(call);
    if (reply.type !== "answer") return reply;
    const { log: _, server_time: __, ...body } = reply.body;
    return { type: "answer", body: body as never };
  };
  const journal = await phone();
  await journal.save([reading(18)]);
  await settled(journal);
  await vi.waitFor(() => expect(journal.unsent.value).toHaveLength(0));
  await journal.save([reading(19)]);
  await vi.waitFor(() => expect(journal.unsent.value).toHaveLength(0));
  expect(service.log).toHaveLength(3);
  expect(journal.known.value).toHaveLength(3);
  expect(service.calls.at(-1)?.cursor).toBeGreaterThan(0);
});
