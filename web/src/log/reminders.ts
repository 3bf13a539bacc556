import { computed } from "@preact/signals";
import type { Matter } from "../generated/shapes";
import { localDay } from "./clock";
import type { Entry } from "./entry";
import type { Journal } from "./journal";

/** Matters as somebody wants to see them: those that ask for somebody now, those put off, those to come. */
export type Reminders = {
  readonly now: readonly Matter[];
  readonly putOff: readonly Matter[];
  readonly later: readonly Matter[];
};

/** The records by which a matter is done, where it isn't any look at its station. */
export type DoneBy = (matter: Matter) => string | undefined;

export function openReminders(journal: Journal, doneBy: DoneBy, now: () => Date = () => new Date()) {
  return computed(() => sorted(journal.plan.value?.plan.reminders ?? [], journal.fresh.value, doneBy, now()));
}

/**
 * Sort a plan's matters by what a person has to do with them today.
 *
 * @param fresh entries made here that the plan doesn't know yet: a phone that can't plan for itself still
 *   takes off what was noted, and what was put off.
 */
export function sorted(
  matters: readonly Matter[],
  fresh: readonly Entry[],
  doneBy: DoneBy,
  now: Date,
): Reminders {
  const today = localDay(now);
  const open = matters
    .filter((one) => !fresh.some((entry) => settles(entry, one, doneBy(one))))
    .map((one) => asPutOff(one, fresh));
  const waits = (one: Matter) => one.put_off_until !== null && one.put_off_until > today;
  const due = (one: Matter) => one.remind <= today;
  return {
    now: open.filter((one) => due(one) && !waits(one)),
    putOff: open.filter(waits),
    later: open.filter((one) => !due(one) && !waits(one)),
  };
}

function settles(entry: Entry, one: Matter, kind: string | undefined): boolean {
  if (entry.station !== one.station) return false;
  if (kind === undefined) return one.what === "look_in";
  return entry.kind === kind && (!one.side || !entry.side || entry.side === one.side);
}

function asPutOff(one: Matter, fresh: readonly Entry[]): Matter {
  const word = fresh.findLast((entry) => entry.kind === "snooze" && entry["matter"] === one.id);
  if (word === undefined || one.level === "danger") return one;
  return { ...one, put_off_until: String(word["until"]), put_off_by: word.by ?? null };
}
