import { expect, test } from "vitest";
import { putPages, withoutEmptyPages } from "./pages";

/** A memory with something here and there, of a length that is no whole number of pages. */
function memory(): Uint8Array {
  const made = new Uint8Array(100_003);
  for (const at of [0, 4095, 4096, 50_000, 100_002]) made[at] = 1 + (at % 250);
  return made;
}

function back(kept: Uint8Array<ArrayBuffer>, length = memory().length): Uint8Array {
  const into = new Uint8Array(length);
  putPages(kept, into);
  return into;
}

test("what was left out comes back", () => {
  const kept = withoutEmptyPages(memory());
  expect(kept.length).toBeLessThan(5 * 4096);
  expect(back(kept)).toEqual(memory());
  expect(back(withoutEmptyPages(new Uint8Array(0)), 0)).toEqual(new Uint8Array(0));
});

test("pages are found wherever they stand in what was read", () => {
  const kept = withoutEmptyPages(memory());
  const read = new Uint8Array(kept.length + 8);
  read.set(kept, 8);
  expect(back(read.subarray(8))).toEqual(memory());
});

test("a memory that doesn't fit, or was cut short, is refused", () => {
  const kept = withoutEmptyPages(memory());
  expect(() => back(kept, 50_000)).toThrow("damaged");
  for (const length of [0, 16, 4096, kept.length - 4096, kept.length - 4]) {
    expect(() => back(kept.slice(0, length)), String(length)).toThrow("damaged");
  }
});
