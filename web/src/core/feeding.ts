import type { Entry } from "../log/entry";
import { pause } from "../pause";

/** What has to be told so that the worker's log is the phone's: entries to add, perhaps after forgetting all. */
export type Difference = { readonly anew: boolean; readonly added: readonly Entry[] };

/** Work on the page's thread is cut into pieces this long, so that a tap is heard between them. */
const PIECE_MS = 6;
/** Entries written as one text. */
const PAGE = 200;

/** Gives way whenever a piece of work has lasted long enough. */
function breather() {
  let since = performance.now();
  return async () => {
    if (performance.now() - since < PIECE_MS) return;
    await pause();
    since = performance.now();
  };
}

/**
 * Compare what the worker was given with what it should know. A log only grows, but for an entry that
 * was given before the service held it: then the worker begins anew. `given` is brought up to date.
 */
export async function difference(given: Map<string, Entry>, now: readonly Entry[]): Promise<Difference> {
  const breathe = breather();
  const added: Entry[] = [];
  let known = 0;
  let changed = false;
  for (const entry of now) {
    const there = given.get(entry.id);
    if (there === undefined) added.push(entry);
    else known += 1;
    if (there !== undefined && there !== entry) {
      changed ||= JSON.stringify(there) !== JSON.stringify(entry);
      await breathe();
    }
    given.set(entry.id, entry);
  }
  if (!changed && known + added.length === given.size) return { anew: false, added };
  given.clear();
  for (const entry of now) given.set(entry.id, entry);
  return { anew: true, added: now };
}

/**
 * What a restored memory was given: the entries of these ids as they are now, for what the service has
 * doesn't change; those that could still change, as they were then.
 */
export function givenBefore(holds: string, loose: string, now: readonly Entry[]): Map<string, Entry> {
  if (holds === "") return new Map();
  const then = JSON.parse(loose) as readonly Entry[];
  const known = new Map([...now, ...then].map((entry) => [entry.id, entry]));
  // What isn't known any more stands here all the same, so that it is missed.
  return new Map(holds.split("\n").map((id) => [id, known.get(id) ?? { id, kind: "", at: "" }]));
}

/** Write entries as texts of some hundred each, with room for a tap between them. */
export async function* texts(entries: readonly Entry[]): AsyncGenerator<string> {
  const breathe = breather();
  for (let from = 0; from < entries.length; from += PAGE) {
    if (from > 0) await breathe();
    yield JSON.stringify(entries.slice(from, from + PAGE));
  }
}
