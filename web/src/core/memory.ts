import { MEMORY_CACHE } from "./files";

/** The memory of a started interpreter, and the mark of what it made of the known small log when it was new. */
export type Memory = { readonly bytes: Uint8Array<ArrayBuffer>; readonly trial: string };

const TRIAL = "X-Trial";
const address = (key: string) => `/assets/fold/memory-${key}`;

/** Where there is no cache storage (plain http on a local network) nothing is kept. */
const cache = async () => (globalThis.caches ? caches.open(MEMORY_CACHE) : null);

/** The mark of a text: its SHA-256. */
export async function markOf(text: string): Promise<string> {
  const digest = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text));
  return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Keep a memory, packed, in place of all others; gives the bytes it takes. */
export async function keepMemory(key: string, { bytes, trial }: Memory): Promise<number> {
  const kept = await cache();
  if (kept === null) return 0;
  await forgetMemory();
  const packed = new Blob([bytes]).stream().pipeThrough(new CompressionStream("gzip"));
  const body = await new Response(packed).blob();
  await kept.put(address(key), new Response(body, { headers: { [TRIAL]: trial } }));
  return body.size;
}

/** The memory kept under a key; null if there is none. Throws if it was damaged. */
export async function keptMemory(key: string): Promise<Memory | null> {
  const found = await (await cache())?.match(address(key));
  if (!found?.body) return null;
  // The packed form ends with a checksum, which is held against what comes out.
  const unpacked = found.body.pipeThrough(new DecompressionStream("gzip"));
  const bytes = new Uint8Array(await new Response(unpacked).arrayBuffer());
  return { bytes, trial: found.headers.get(TRIAL) ?? "" };
}

export async function forgetMemory(): Promise<void> {
  const kept = await cache();
  for (const request of (await kept?.keys()) ?? []) await kept?.delete(request);
}
