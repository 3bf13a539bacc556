import { type Entry, isObject } from "./entry";

/**
 * The log as it stands: corrections applied, corrections themselves left out, newest first.
 *
 * The service's fold has the last word; this serves the lists on the screen, by the same rule: a
 * correction counts unless a later one takes it back, and of several replacements the later wins.
 */
export function effective(entries: Iterable<Entry>): Entry[] {
  const all = [...entries];
  const gone = new Set<string>();
  const changes = new Map<string, Record<string, unknown>[]>();
  for (const entry of all.filter((one) => one.kind === "correction").sort(newestFirst)) {
    if (gone.has(entry.id)) continue;
    const of = String(entry["of"]);
    if (entry["action"] === "retract") gone.add(of);
    else if (isObject(entry["with"])) changes.set(of, [entry["with"], ...(changes.get(of) ?? [])]);
  }
  return all
    .filter((entry) => entry.kind !== "correction" && !gone.has(entry.id))
    .map((entry) => amended(entry, changes.get(entry.id)))
    .sort(newestFirst);
}

function amended(entry: Entry, changes: Record<string, unknown>[] | undefined): Entry {
  if (changes === undefined) return entry;
  return { ...Object.assign({}, entry, ...changes), id: entry.id, kind: entry.kind };
}

/** By the instant it happened, then by id: the order the fold uses, the other way round. */
export function newestFirst(one: Entry, other: Entry): number {
  return Date.parse(other.at) - Date.parse(one.at) || (one.id < other.id ? 1 : -1);
}
