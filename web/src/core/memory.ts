import { MEMORY_CACHE } from "./files";
import { putPages, withoutEmptyPages } from "./pages";

/** What goes with a memory. */
type About = {
  /** What it makes of the known small log. */
  readonly trial: string;
  /** Entries in it that could still change: the JSON of a list. */
  readonly loose: string;
};

/** A kept memory: its length is known at once, the rest when it has been read. */
export type Memory = { readonly length: number; read(): Promise<Content> };

/** What was read of it. `sound` is settled later, beside other work: until then it is only likely. */
export type Content = About & { readonly sound: Promise<boolean>; put(into: Uint8Array): void };

/** Numbers of four bytes are read where they stand. */
const WORD = 4;
const LENGTH = "X-Length";
const DIGEST = "X-Digest";
const address = (key: string) => `/assets/fold/memory-${key}`;

/** Where there is no cache storage (plain http on a local network) nothing is kept. */
const cache = async () => (globalThis.caches ? caches.open(MEMORY_CACHE) : null);

async function digestOf(bytes: BufferSource): Promise<string> {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * Keep a memory in place of all others; gives the bytes it takes. It is one body, so that two tabs can't
 * mix theirs: the length of what goes with it, that as JSON, the pages.
 */
export async function keepMemory(key: string, bytes: Uint8Array, about: About): Promise<number> {
  const kept = await cache();
  if (kept === null) return 0;
  const text = new TextEncoder().encode(JSON.stringify(about));
  const padding = " ".repeat((WORD - (text.length % WORD)) % WORD);
  const head = new Uint32Array([text.length + padding.length]);
  const body = await new Blob([head, text, padding, withoutEmptyPages(bytes)]).arrayBuffer();
  const headers = { [LENGTH]: String(bytes.length), [DIGEST]: await digestOf(body) };
  await kept.put(address(key), new Response(body, { headers }));
  for (const request of await kept.keys()) {
    if (new URL(request.url).pathname !== address(key)) await kept.delete(request);
  }
  return body.byteLength;
}

/** The memory kept under a key; null if there is none. Reading fails if it isn't one. */
export async function keptMemory(key: string): Promise<Memory | null> {
  const found = await (await cache())?.match(address(key));
  if (!found) return null;
  return { length: Number(found.headers.get(LENGTH)), read: () => read(found) };
}

async function read(found: Response): Promise<Content> {
  const body = await found.arrayBuffer();
  const sound = digestOf(body).then((digest) => digest === found.headers.get(DIGEST));
  const [size = 0] = new Uint32Array(body, 0, 1);
  const about = JSON.parse(new TextDecoder().decode(new Uint8Array(body, WORD, size))) as About;
  return { ...about, sound, put: (into) => putPages(new Uint8Array(body, WORD + size), into) };
}

export async function forgetMemory(): Promise<void> {
  await globalThis.caches?.delete(MEMORY_CACHE);
}
