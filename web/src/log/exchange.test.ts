import { expect, test } from "vitest";
import type { Entry, Held } from "./entry";
import { settle } from "./exchange";
import type { Incoming } from "./wire";

const entry = (id: string, note: string): Entry => ({ id, kind: "signs", at: "2026-03-01T07:30:00Z", note });
const held = (one: Entry, code = "unknown_station"): Held => ({
  id: one.id,
  entry: one,
  code,
  field: "station",
  why: code,
  values: {},
});
const answer = (change: Partial<Incoming>): Incoming => ({
  accepted: [],
  held: [],
  entries: [],
  cursor: 1,
  more: false,
  server_time: "2026-03-01T07:30:00Z",
  ...change,
});
const asked = (change: Partial<Incoming>, before: readonly Held[]) =>
  settle([], [], answer(change), { cursor: 0, sentUpTo: 0 }, before);

test("a held entry is released when it comes back as it was sent", () => {
  const came = {
    note: "mine",
    kind: "signs",
    id: "one",
    at: "2026-03-01T07:30:00Z",
    seq: 4,
    received_at: "x",
  };
  const found = asked({ entries: [came] }, [held(entry("one", "mine"))]);
  expect(found).toMatchObject({ released: ["one"], held: [] });
});

test("a log that was set back under its old name gets again what it lacks", () => {
  const from = { cursor: 7, sentUpTo: 3, log: "one" };
  const found = (cursor: number) => settle([], [], answer({ cursor, log: "one" }), from, []).again;
  expect([found(5), found(7), found(9)]).toEqual([true, false, false]);
});

test("another entry under the id of a held one does not make it disappear", () => {
  const mine = held(entry("one", "mine"));
  const found = asked({ entries: [entry("one", "somebody else's")] }, [mine]);
  expect(found.released).toEqual([]);
  expect(found.held).toEqual([{ ...mine, code: "id_taken", field: "id" }]);
});

test("an entry held because its id is taken stays so when the one that has the id comes later", () => {
  const found = asked({ entries: [entry("one", "theirs")] }, [held(entry("one", "mine"), "id_taken")]);
  expect(found).toMatchObject({ released: [], held: [] });
});

test("an entry that the same answer holds and hands out is in the log", () => {
  const mine = entry("one", "mine");
  const said = {
    id: "one",
    index: 0,
    ref: "r",
    code: "unknown_station",
    why: "",
    field: "station",
    values: {},
  };
  const found = settle(
    [{ n: 1, entry: mine }],
    [mine],
    answer({ held: [said], entries: [mine] }),
    { cursor: 0, sentUpTo: 0 },
    [],
  );
  expect(found).toMatchObject({ sentUpTo: 1, held: [], released: ["one"] });
});
