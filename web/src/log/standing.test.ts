import { expect, test } from "vitest";
import { effective } from "./effective";
import type { Entry } from "./entry";
import { foldSetUp } from "./place";
import { openStanding } from "./standing";

const at = (minute: number) => new Date(Date.UTC(2026, 2, 1, 7, minute)).toISOString();
const reading = (id: string, minute = 0, more: object = {}): Entry => ({
  id,
  kind: "reading",
  at: at(minute),
  ...more,
});

const byId = (one: Entry, other: Entry) => (one.id < other.id ? -1 : 1);

/** The same numbers each time (Park and Miller's generator, CACM 31 (1988) 1192). */
function chance(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (state * 48_271) % 2_147_483_647;
    return state % below;
  };
}

/** An entry of any kind that matters here; its id, its instant and what it speaks of may occur already. */
function some(draw: (below: number) => number): Entry {
  const id = `e${draw(40)}`;
  const of = `e${draw(40)}`;
  const kinds: Entry[] = [
    reading(id, draw(20)),
    { ...reading(id, draw(20)), kind: "correction", of, action: "retract" },
    { ...reading(id, draw(20)), kind: "correction", of, action: "replace", with: { note: `n${draw(9)}` } },
    {
      ...reading(id, draw(20)),
      kind: "setup",
      what: "station",
      item: `s${draw(3)}`,
      set: { order: draw(9) },
    },
  ];
  return kinds[draw(10) < 6 ? 0 : 1 + draw(3)] as Entry;
}

test("however a log grows, shrinks and changes, it stands as if it had been looked at for the first time", () => {
  for (let seed = 1; seed <= 20; seed += 1) {
    const draw = chance(seed);
    const stand = openStanding();
    let all: Entry[] = [];
    for (let turn = 0; turn < 30; turn += 1) {
      const what = draw(10);
      if (what < 6) all = [...all, ...Array.from({ length: 1 + draw(3) }, () => some(draw))];
      else if (what === 6) all = all.filter(() => draw(8) > 0);
      else if (what === 7) all = [...all.slice(-1 - draw(4)), ...all.slice(draw(3))];
      else if (what === 8) all = all.toSorted(() => draw(3) - 1);
      const known = [...new Map(all.map((entry) => [entry.id, entry])).values()];
      const now = stand(all);
      expect(now.known.toSorted(byId)).toEqual(known.toSorted(byId));
      expect(now.entries).toEqual(effective(known));
      expect(now.setUp).toEqual(foldSetUp(effective(known)));
    }
  }
});

test("one entry more on top of twenty thousand reads no other one's time, and leaves what is set up as it was", () => {
  let read = 0;
  const watched = (entry: Entry): Entry =>
    Object.defineProperty({ ...entry }, "at", {
      enumerable: true,
      get: () => {
        read += 1;
        return entry.at;
      },
    });
  const many = Array.from({ length: 20_000 }, (_, n) => watched(reading(`many-${n}`, n)));
  const stand = openStanding();
  const before = stand(many);
  read = 0;
  const after = stand([...many, reading("one more", 20_001)]);
  expect(read).toBeLessThan(40);
  expect(after.entries[0]?.id).toBe("one more");
  expect(after.setUp).toBe(before.setUp);
  expect(stand([...many, after.entries[0] as Entry])).toBe(after);
});

test("a page of the log that sets nothing up leaves what is set up the very same", () => {
  const stand = openStanding();
  const named = { ...reading("s", 0), kind: "setup", what: "station", item: "bed", set: { name: "Bed" } };
  const before = stand([named]);
  const page = Array.from({ length: 500 }, (_, n) => reading(`r${n}`, n));
  const after = stand([named, ...page]);
  expect(after.entries).toHaveLength(501);
  expect(after.setUp).toBe(before.setUp);
  const renamed = { ...named, id: "t", at: at(900), set: { name: "Other bed" } };
  expect(stand([named, ...page, renamed]).setUp).toEqual(foldSetUp([renamed, named]));
});
