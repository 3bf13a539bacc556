import "fake-indexeddb/auto";
import { expect, test, vi } from "vitest";
import { openIndexed } from "../log/indexed";
import { openJournal } from "../log/journal";
import type { Contents, Storage } from "../log/storage";
import type { Wire } from "../log/wire";
import { testService } from "../testing/service";
import { become, followWho, learnWho, me, proposes, shutOut, stayOver } from "./me";

const NOBODY: Contents = {
  log: [],
  unsent: [],
  rows: [],
  held: [],
  kept: { device: "phone", plan: {} },
  cursor: 0,
  sentUpTo: 0,
};
const KIT = { person: "kit", role: "helper", here: true, last_day: "2026-03-09", open: false };

const FORGETFUL: Storage = {
  load: async () => NOBODY,
  save: async (entries) => entries.map((entry, n) => ({ n: n + 1, entry })),
  unsent: async () => ({ rows: [], held: [], cursor: 0, sentUpTo: 0 }),
  settle: async () => true,
  hold: async () => undefined,
  keep: async () => undefined,
};

function journalOver(wire: Partial<Wire> = {}, storage = FORGETFUL) {
  return openJournal(NOBODY, {
    storage,
    wire: { ...testService().wire, ...wire },
    planner: { plan: async () => null },
    now: () => new Date("2026-03-01T08:00:00Z"),
    exclusive: (work) => work(),
    tell: () => undefined,
  });
}

function answering(body: unknown, status = 200) {
  vi.stubGlobal("fetch", async () => new Response(JSON.stringify(body), { status }));
}

test("who pairs a phone is whose name goes with what is recorded on it", async () => {
  const journal = journalOver();
  await become(journal, KIT);
  expect(journal.kept.value["person"]).toBe("kit");
  expect(proposes(journal)).toBe(true);
  const [made] = await journal.save([{ kind: "signs", signs: ["flies"] }]);
  expect(made?.["by"]).toBe("kit");
  journal.stop();
});

test("somebody else who took this phone stays chosen while the pairing is the same", async () => {
  const journal = journalOver();
  await become(journal, KIT);
  await journal.keep("person", "lou");
  await become(journal, { ...KIT, last_day: "2026-04-01" });
  expect(journal.kept.value["person"]).toBe("lou");
  journal.stop();
});

test("with no signal a phone goes on being whose it was; shut out, it is nobody's and records on", async () => {
  const journal = journalOver();
  await become(journal, KIT);
  vi.stubGlobal("fetch", async () => Promise.reject(new TypeError("no signal")));
  await learnWho(journal);
  expect(me(journal)).toEqual(KIT);
  answering({ code: "signed_out", detail: "" }, 401);
  await learnWho(journal);
  expect(me(journal)).toBeNull();
  await journal.save([{ kind: "signs", signs: ["flies"] }]);
  expect(journal.unsent.value).toHaveLength(1);
  journal.stop();
});

test("a role that was changed elsewhere counts here once the service has handed that out", async () => {
  const service = testService();
  const storage = await openIndexed();
  const journal = journalOver(service.wire, storage);
  let asked = 0;
  let role = "helper";
  vi.stubGlobal("fetch", async () => {
    asked += 1;
    return new Response(JSON.stringify({ ...KIT, role }));
  });
  const stop = followWho(journal);
  await vi.waitFor(() => expect(me(journal)?.role).toBe("helper"));

  role = "host";
  const kit = { kind: "setup", what: "person", item: "kit", set: { role }, at: "2026-03-01T07:00:00Z" };
  service.log.push({ ...kit, id: "kit-hosts" });
  journal.nudge("hand");
  await vi.waitFor(() => expect(proposes(journal)).toBe(false));
  expect(asked).toBe(2);

  // What sets nothing up asks nobody who they are.
  service.log.push({ id: "flies", kind: "signs", at: "2026-03-01T07:05:00Z", signs: ["flies"] });
  journal.nudge("hand");
  await vi.waitFor(() => expect(journal.entries.value.map((one) => one.id)).toContain("flies"));
  expect(asked).toBe(2);
  stop();
  journal.stop();
});

test("a stay is over when the service says so, and after its last day with no word from it", () => {
  const stay = { ...KIT, last_day: "2026-03-04" };
  expect(stayOver(stay, new Date(2026, 2, 4, 23, 59))).toBe(false);
  expect(stayOver(stay, new Date(2026, 2, 5, 0, 1))).toBe(true);
  expect(stayOver({ ...stay, here: false }, new Date(2026, 2, 4))).toBe(true);
  expect(stayOver({ ...KIT, last_day: null })).toBe(false);
});

test("a last day set back elsewhere is learnt with the first entry that is held for it", async () => {
  const service = testService();
  const journal = journalOver(service.wire, await openIndexed());
  let here = true;
  vi.stubGlobal("fetch", async () => new Response(JSON.stringify({ ...KIT, here })));
  const stop = followWho(journal);
  await vi.waitFor(() => expect(me(journal)?.here).toBe(true));
  here = false;
  service.judgeBy(() => "after_stay");
  await journal.save([{ kind: "signs", signs: ["flies"] }]);
  journal.nudge("hand");
  await vi.waitFor(() => expect(me(journal)?.here).toBe(false));
  stop();
  journal.stop();
});

test.each(["sign_in", "signed_out"])(
  "a refusal of sync by %s says that this phone isn't let in",
  async (code) => {
    const journal = journalOver({ sync: async () => ({ type: "refused", status: 401, code, detail: "" }) });
    expect(shutOut(journal)).toBe(false);
    journal.nudge("hand");
    await vi.waitFor(() => expect(shutOut(journal)).toBe(true));
    journal.stop();
  },
);
