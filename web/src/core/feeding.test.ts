import { expect, test } from "vitest";
import type { Entry } from "../log/entry";
import { difference, givenBefore, texts } from "./feeding";

const entry = (id: string, moisture_pct = 60): Entry => ({
  id,
  kind: "reading",
  at: "2026-03-01T07:00:00+01:00",
  moisture_pct,
});
const given = (...entries: Entry[]) => new Map(entries.map((one) => [one.id, one]));
const ids = (entries: readonly Entry[]) => entries.map((one) => one.id);

test("only what is new is told, once", async () => {
  const before = given(entry("a"));
  const found = await difference(before, [entry("a"), entry("b")]);
  expect({ anew: found.anew, added: ids(found.added) }).toEqual({ anew: false, added: ["b"] });
  expect((await difference(before, [entry("a"), entry("b")])).added).toEqual([]);
});

test("an entry that is gone, or is another under its own id, means to begin anew", async () => {
  const gone = await difference(given(entry("a"), entry("bad")), [entry("a"), entry("b")]);
  expect({ anew: gone.anew, added: ids(gone.added) }).toEqual({ anew: true, added: ["a", "b"] });
  const mended = given(entry("a", 999));
  expect((await difference(mended, [entry("a", 99)])).anew).toBe(true);
  expect(mended.get("a")).toEqual(entry("a", 99));
});

test("a restored memory is taken to hold what its ids name, loose entries as they were then", async () => {
  const now = [entry("a"), entry("b", 50), entry("c")];
  const same = givenBefore("a\nb", JSON.stringify([entry("b", 50)]), now);
  expect(ids((await difference(same, now)).added)).toEqual(["c"]);
  const mendedSince = givenBefore("a\nb", JSON.stringify([entry("b", 999)]), now);
  expect((await difference(mendedSince, now)).anew).toBe(true);
  const lost = givenBefore("a\nx", "[]", now);
  expect((await difference(lost, now)).anew).toBe(true);
  expect(givenBefore("", "[]", now).size).toBe(0);
});

test("a long log is written page by page, and nothing of it is left out", async () => {
  const log = Array.from({ length: 1001 }, (_, number) => entry(String(number)));
  const read: Entry[] = [];
  let pages = 0;
  for await (const text of texts(log)) {
    read.push(...(JSON.parse(text) as Entry[]));
    pages += 1;
  }
  expect(read).toEqual(log);
  expect(pages).toBeGreaterThan(1);
});
