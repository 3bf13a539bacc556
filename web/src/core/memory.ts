import { MEMORY_CACHE } from "./files";
import { withEmptyPages, withoutEmptyPages } from "./pages";

/** The memory of an interpreter with a log in it. */
export type Memory = {
  readonly bytes: Uint8Array;
  /** The mark of what it makes of the known small log. */
  readonly trial: string;
  /** Entries in it that could still change: the JSON of a list. */
  readonly loose: string;
};

const address = (key: string, part: string) => `/assets/fold/memory-${key}.${part}`;

/** Where there is no cache storage (plain http on a local network) nothing is kept. */
const cache = async () => (globalThis.caches ? caches.open(MEMORY_CACHE) : null);

/** The mark of a text: its SHA-256. */
export async function markOf(text: string): Promise<string> {
  const digest = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text));
  return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Keep a memory in place of all others; gives the bytes it takes. */
export async function keepMemory(key: string, { bytes, trial, loose }: Memory): Promise<number> {
  const kept = await cache();
  if (kept === null) return 0;
  const body = withoutEmptyPages(bytes);
  await forgetMemory();
  await kept.put(address(key, "about"), Response.json({ trial, loose }));
  await kept.put(address(key, "memory"), new Response(body));
  return body.length;
}

/** The memory kept under a key; null if there is none. Throws if it was damaged. */
export async function keptMemory(key: string): Promise<Memory | null> {
  const kept = await cache();
  const [about, found] = await Promise.all([
    kept?.match(address(key, "about")),
    kept?.match(address(key, "memory")),
  ]);
  if (!about || !found) return null;
  const bytes = withEmptyPages(await found.arrayBuffer());
  return { bytes, ...((await about.json()) as Omit<Memory, "bytes">) };
}

export async function forgetMemory(): Promise<void> {
  const kept = await cache();
  for (const request of (await kept?.keys()) ?? []) await kept?.delete(request);
}
