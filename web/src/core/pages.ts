/*
 * The memory of an interpreter in the form it is kept in: about half of its pages hold nothing, and are
 * left out. Packing it tighter would take longer to undo than reading the larger file takes.
 *
 * A head of four words (a mark of the form, a checksum of all that follows, the length of the memory, how
 * many pages there are), the numbers of the pages, then the pages.
 */
const FORM = 0x46504731;
const HEAD_WORDS = 4;
const PAGE_BYTES = 4096;
const PAGE_WORDS = PAGE_BYTES / 4;

/** Leave out the pages that hold nothing. */
export function withoutEmptyPages(memory: Uint8Array): Uint8Array<ArrayBuffer> {
  const whole = new Uint8Array(Math.ceil(memory.length / PAGE_BYTES) * PAGE_BYTES);
  whole.set(memory);
  const words = new Uint32Array(whole.buffer);
  const full: number[] = [];
  for (let page = 0; page * PAGE_WORDS < words.length; page += 1) {
    if (words.subarray(page * PAGE_WORDS, (page + 1) * PAGE_WORDS).some((word) => word !== 0))
      full.push(page);
  }
  const pagesFrom = HEAD_WORDS + full.length;
  const packed = new Uint32Array(pagesFrom + full.length * PAGE_WORDS);
  packed.set(full, HEAD_WORDS);
  full.forEach((page, index) => {
    packed.set(words.subarray(page * PAGE_WORDS, (page + 1) * PAGE_WORDS), pagesFrom + index * PAGE_WORDS);
  });
  packed.set([FORM, 0, memory.length, full.length]);
  packed[1] = checksum(packed.subarray(2));
  return new Uint8Array(packed.buffer);
}

/** Put the pages where they were, into as much that holds nothing. Throws if this isn't what was kept. */
export function putPages(kept: Uint8Array<ArrayBuffer>, into: Uint8Array<ArrayBuffer>): void {
  const packed = new Uint32Array(kept.buffer, kept.byteOffset, Math.floor(kept.length / 4));
  const [form, check, length, count = 0] = packed;
  const pagesFrom = HEAD_WORDS + count;
  const whole = form === FORM && length === into.length && packed.length === pagesFrom + count * PAGE_WORDS;
  if (!whole || checksum(packed.subarray(2)) !== check) throw new Error("the memory was damaged");
  packed.subarray(HEAD_WORDS, pagesFrom).forEach((page, index) => {
    const from = pagesFrom * 4 + index * PAGE_BYTES;
    const to = page * PAGE_BYTES;
    into.set(kept.subarray(from, from + Math.min(PAGE_BYTES, length - to)), to);
  });
}

/** Tells an accident, not an attack: sums of the words and of those sums, as Fletcher's checksum does. */
function checksum(words: Uint32Array): number {
  let sum = 0;
  let sums = 0;
  for (let at = 0; at < words.length; at += 1) {
    sum = (sum + (words[at] as number)) | 0;
    sums = (sums + sum) | 0;
  }
  return (sum ^ Math.imul(sums, 31)) >>> 0;
}
