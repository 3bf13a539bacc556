import { amended, type Corrections, corrections, effective, newestFirst } from "./effective";
import type { Entry } from "./entry";
import { foldSetUp, type SetUp } from "./place";

/** The log as the app reads it. */
export type Standing = {
  /** Each entry as it was written, once. */
  readonly known: readonly Entry[];
  /** The log as it stands, newest first. */
  readonly entries: readonly Entry[];
  readonly setUp: SetUp;
};

/** So many new entries are put in their places one by one; of more, the whole is sorted anew. */
const FEW = 100;

/**
 * Work out how a log stands, and remember it: one more entry then costs looking each one up, not sorting
 * and correcting all of them. Where nothing has changed, the answer is the very same object.
 *
 * @returns takes all entries, of those with one id the last one counts
 */
export function openStanding(): (all: readonly Entry[]) => Standing {
  /** What is known by its id, and in which turn it was last met. */
  let known = new Map<string, { readonly entry: Entry; turn: number }>();
  let corrected: Corrections = corrections([]);
  let standing: Standing = { known: [], entries: [], setUp: {} };
  /** The entries that say what is set up, newest first. */
  let saying: readonly Entry[] = [];
  let turn = 0;

  function afresh(all: readonly Entry[]): Standing {
    known = new Map(all.map((entry) => [entry.id, { entry, turn }]));
    const once = [...known.values()].map(({ entry }) => entry);
    corrected = corrections(once);
    const entries = effective(once, corrected);
    return { known: once, entries, setUp: setUpOf(entries) };
  }

  /** What is set up; the very same as before where the same entries say it. */
  function setUpOf(entries: readonly Entry[]): SetUp {
    const said = entries.filter((entry) => entry.kind === "setup");
    const same = said.length === saying.length && said.every((entry, index) => entry === saying[index]);
    saying = said;
    return same ? standing.setUp : foldSetUp(said);
  }

  /** The last answer with some entries more, none of which changes another. */
  function grown(added: readonly Entry[]): Standing {
    const entries = [...standing.entries];
    for (const entry of added) {
      if (!corrected.gone.has(entry.id)) put(amended(entry, corrected.changes.get(entry.id)), entries);
    }
    const setUp = added.some((entry) => entry.kind === "setup") ? setUpOf(entries) : standing.setUp;
    return { known: [...standing.known, ...added], entries, setUp };
  }

  /** The entries that weren't there before; null where that is not all that has changed. */
  function more(all: readonly Entry[]): Entry[] | null {
    const before = known.size;
    const added: Entry[] = [];
    turn += 1;
    for (const entry of all) {
      const there = known.get(entry.id);
      if (there === undefined && entry.kind !== "correction" && added.length < FEW) {
        added.push(entry);
        known.set(entry.id, { entry, turn });
      } else if (there === undefined || there.entry !== entry || there.turn === turn) return null;
      else there.turn = turn;
    }
    return all.length === before + added.length ? added : null;
  }

  return (all) => {
    const added = more(all);
    if (added === null) standing = afresh(all);
    else if (added.length > 0) standing = grown(added);
    return standing;
  };
}

/** Put an entry into its place among others, newest first. */
function put(entry: Entry, among: Entry[]): void {
  let [from, to] = [0, among.length];
  while (from < to) {
    const middle = (from + to) >> 1;
    if (newestFirst(among[middle] as Entry, entry) < 0) from = middle + 1;
    else to = middle;
  }
  among.splice(from, 0, entry);
}
