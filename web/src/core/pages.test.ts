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

test("one bit that fell over is noticed, wherever it is", () => {
  const kept = withoutEmptyPages(memory());
  for (let at = 0; at < kept.length; at += 401) {
    const harmed = kept.slice();
    harmed[at] = (harmed[at] ?? 0) ^ 4;
    expect(() => back(harmed), `byte ${at}`).toThrow("damaged");
  }
});

test("a memory of another length is not taken", () => {
  expect(() => back(withoutEmptyPages(memory()), 100_004)).toThrow("damaged");
});

test("a memory cut short is noticed, wherever it was cut", () => {
  const kept = withoutEmptyPages(memory());
  for (const length of [0, 3, 16, 4096, kept.length - 4096, kept.length - 4, kept.length - 1]) {
    expect(() => back(kept.slice(0, length))).toThrow();
  }
});
