import { MEMORY_CACHE } from "./files";
import { putPages, withoutEmptyPages } from "./pages";

/** What is known of a kept memory without reading it. */
type About = {
  readonly length: number;
  /** What it makes of the known small log. */
  readonly trial: string;
  /** Entries in it that could still change: the JSON of a list. */
  readonly loose: string;
};

/** A kept memory, to be put into as many empty bytes as its length. */
export type Memory = About & { fill(into: Uint8Array<ArrayBuffer>): Promise<void> };

const address = (key: string, part: string) => `/assets/fold/memory-${key}.${part}`;

/** Where there is no cache storage (plain http on a local network) nothing is kept. */
const cache = async () => (globalThis.caches ? caches.open(MEMORY_CACHE) : null);

/** Keep a memory in place of all others; gives the bytes it takes. */
export async function keepMemory(
  key: string,
  bytes: Uint8Array,
  trial: string,
  loose: string,
): Promise<number> {
  const kept = await cache();
  if (kept === null) return 0;
  const body = withoutEmptyPages(bytes);
  const about: About = { length: bytes.length, trial, loose };
  await forgetMemory();
  await kept.put(address(key, "memory"), new Response(body));
  await kept.put(address(key, "about"), Response.json(about));
  return body.length;
}

/** The memory kept under a key; null if there is none. Filling fails if it was damaged. */
export async function keptMemory(key: string): Promise<Memory | null> {
  const kept = await cache();
  const about = await kept?.match(address(key, "about"));
  if (!kept || !about) return null;
  return {
    ...((await about.json()) as About),
    async fill(into) {
      const found = await kept.match(address(key, "memory"));
      putPages((await found?.arrayBuffer()) ?? new ArrayBuffer(), into);
    },
  };
}

export async function forgetMemory(): Promise<void> {
  const kept = await cache();
  for (const request of (await kept?.keys()) ?? []) await kept?.delete(request);
}
