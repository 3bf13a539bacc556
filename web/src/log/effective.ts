import { type Entry, isObject } from "./entry";

/**
 * The log as it stands: corrections applied, corrections themselves left out, newest first.
 *
 * The service's fold has the last word; this serves the lists on the screen, by the same rule: a
 * correction counts unless a later one takes it back, and of several replacements the later wins.
 */
export function effective(entries: Iterable<Entry>, corrected?: Corrections): Entry[] {
  const all = [...entries];
  const { gone, changes } = corrected ?? corrections(all);
  return all
    .filter((entry) => entry.kind !== "correction" && !gone.has(entry.id))
    .map((entry) => timed(amended(entry, changes.get(entry.id))))
    .sort(later)
    .map(({ entry }) => entry);
}

/** What corrections say: the ids taken back, and what is replaced in others, oldest first. */
export type Corrections = {
  readonly gone: ReadonlySet<string>;
  readonly changes: ReadonlyMap<string, readonly Record<string, unknown>[]>;
};

export function corrections(all: readonly Entry[]): Corrections {
  const gone = new Set<string>();
  const changes = new Map<string, Record<string, unknown>[]>();
  const said = all.filter((one) => one.kind === "correction").map(timed);
  for (const { entry } of said.sort(later)) {
    if (gone.has(entry.id)) continue;
    const of = String(entry["of"]);
    if (entry["action"] === "retract") gone.add(of);
    else if (isObject(entry["with"])) changes.set(of, [entry["with"], ...(changes.get(of) ?? [])]);
  }
  return { gone, changes };
}

export function amended(entry: Entry, changes: readonly Record<string, unknown>[] | undefined): Entry {
  if (changes === undefined) return entry;
  return { ...Object.assign({}, entry, ...changes), id: entry.id, kind: entry.kind };
}

/** By the instant it happened, then by id: the order the fold uses, the other way round. */
export const newestFirst = (one: Entry, other: Entry): number => later(timed(one), timed(other));

/** An entry with its instant, which is read once and compared often. */
type Timed = { readonly entry: Entry; readonly ms: number };
const timed = (entry: Entry): Timed => ({ entry, ms: Date.parse(entry.at) });
const later = (one: Timed, other: Timed): number =>
  other.ms - one.ms || (one.entry.id < other.entry.id ? 1 : -1);
