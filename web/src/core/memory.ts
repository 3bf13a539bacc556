import { MEMORY_CACHE } from "./files";
import { putPages, withoutEmptyPages } from "./pages";

/** What is known of a kept memory beside what is in it. */
type About = {
  readonly length: number;
  /** What it makes of the known small log. */
  readonly trial: string;
  /** Entries in it that could still change: the JSON of a list. */
  readonly loose: string;
};

/** A kept memory, to be put into as many empty bytes as its length. Fails if it was damaged. */
export type Memory = About & { put(into: Uint8Array<ArrayBuffer>): void };

/** Numbers of four bytes are read where they stand. */
const WORD = 4;
const address = (key: string) => `/assets/fold/memory-${key}`;

/** Where there is no cache storage (plain http on a local network) nothing is kept. */
const cache = async () => (globalThis.caches ? caches.open(MEMORY_CACHE) : null);

/**
 * Keep a memory in place of all others; gives the bytes it takes. It is one body, so that two tabs can't
 * mix theirs: the length of what is known beside it, that as JSON, the pages.
 */
export async function keepMemory(
  key: string,
  bytes: Uint8Array,
  trial: string,
  loose: string,
): Promise<number> {
  const kept = await cache();
  if (kept === null) return 0;
  const about: About = { length: bytes.length, trial, loose };
  const text = new TextEncoder().encode(JSON.stringify(about));
  const padding = " ".repeat((WORD - (text.length % WORD)) % WORD);
  const head = new Uint32Array([text.length + padding.length]);
  const body = new Blob([head, text, padding, withoutEmptyPages(bytes)]);
  await kept.put(address(key), new Response(body));
  for (const request of await kept.keys()) {
    if (new URL(request.url).pathname !== address(key)) await kept.delete(request);
  }
  return body.size;
}

/** The memory kept under a key; null if there is none. Throws if it can't be read. */
export async function keptMemory(key: string): Promise<Memory | null> {
  const found = await (await cache())?.match(address(key));
  if (!found) return null;
  const body = await found.arrayBuffer();
  const [size = 0] = new Uint32Array(body, 0, 1);
  const about = JSON.parse(new TextDecoder().decode(new Uint8Array(body, WORD, size))) as About;
  return { ...about, put: (into) => putPages(new Uint8Array(body, WORD + size), into) };
}

export async function forgetMemory(): Promise<void> {
  await globalThis.caches?.delete(MEMORY_CACHE);
}
