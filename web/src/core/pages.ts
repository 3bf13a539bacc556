/*
 * The memory of an interpreter in the form it is kept in: about half of its pages hold nothing, and are
 * left out. Packing it tighter would take longer to undo than reading the larger file takes.
 *
 * Words of four bytes: how many runs of full pages there are; for each its first page and how many pages
 * it has; then the pages.
 */
const PAGE_BYTES = 4096;
const PAGE_WORDS = PAGE_BYTES / 4;

/** Leave out the pages that hold nothing. */
export function withoutEmptyPages(memory: Uint8Array): Uint8Array<ArrayBuffer> {
  const whole = new Uint8Array(Math.ceil(memory.length / PAGE_BYTES) * PAGE_BYTES);
  whole.set(memory);
  const words = new Uint32Array(whole.buffer);
  const runs = fullRuns(words);
  const head = [runs.length, ...runs.flat()];
  const pages = runs.reduce((sum, [, count]) => sum + count, 0);
  const packed = new Uint32Array(head.length + pages * PAGE_WORDS);
  packed.set(head);
  let to = head.length;
  for (const [first, count] of runs) {
    packed.set(words.subarray(first * PAGE_WORDS, (first + count) * PAGE_WORDS), to);
    to += count * PAGE_WORDS;
  }
  return new Uint8Array(packed.buffer);
}

function fullRuns(words: Uint32Array): [first: number, count: number][] {
  const runs: [number, number][] = [];
  for (let page = 0; page * PAGE_WORDS < words.length; page += 1) {
    const full = words.subarray(page * PAGE_WORDS, (page + 1) * PAGE_WORDS).some((word) => word !== 0);
    const last = runs.at(-1);
    if (full && last && last[0] + last[1] === page) last[1] += 1;
    else if (full) runs.push([page, 1]);
  }
  return runs;
}

/** Put the pages where they were, into as many bytes that hold nothing. Throws if they don't fit there. */
export function putPages(kept: Uint8Array<ArrayBuffer>, into: Uint8Array): void {
  const packed = new Uint32Array(kept.buffer, kept.byteOffset, Math.floor(kept.length / 4));
  const [runs = 0] = packed;
  let from = 4 * (1 + 2 * runs);
  for (let run = 0; run < runs; run += 1) {
    const to = (packed[1 + 2 * run] ?? 0) * PAGE_BYTES;
    const size = (packed[2 + 2 * run] ?? 0) * PAGE_BYTES;
    if (size === 0 || to + size - PAGE_BYTES >= into.length) break;
    into.set(kept.subarray(from, from + Math.min(size, into.length - to)), to);
    from += size;
  }
  if (from !== kept.length) throw new Error("the memory was damaged");
}
