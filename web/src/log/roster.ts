import { computed } from "@preact/signals";
import type { Roster } from "../generated/shapes";
import { localDay } from "./clock";
import type { Entry } from "./entry";
import type { Holding, Person } from "./holding";
import type { Journal } from "./journal";

/** Who walks today, as far as this phone knows, and to whom the round may be handed. */
export function openRoster(journal: Journal, holding: Holding, now: () => Date = () => new Date()) {
  return computed(() => {
    const today = localDay(now());
    const planned = holding.plan.value?.roster;
    const day = planned?.days.find((one) => one.day === today);
    const handed = journal.fresh.value.findLast(
      (entry) => entry.kind === "hand_over" && (entry["day"] ?? entry.at.slice(0, 10)) === today,
    );
    const walking = handed ? [String(handed["person"])] : (day?.people ?? []);
    const here = holding.people.value.filter((one) => one.lastDay === "" || one.lastDay >= today);
    const next = planned?.next ?? null;
    const others = here.filter((one) => !walking.includes(one.id));
    const known = (id: string): Person[] => here.filter((one) => one.id === id);
    const handedOver = handed !== undefined || day?.handed_over === true;
    return {
      here,
      next,
      walkers: walking.flatMap(known),
      handedOver,
      /** Stations a round that was handed over had been to: whoever goes on needn't go there again. */
      before: handedOver ? seenBefore(planned, journal.fresh.value, today) : new Set(),
      /** Whoever walks next by the roster comes first. */
      others: others.toSorted((one, other) => Number(other.id === next) - Number(one.id === next)),
      days: planned?.days ?? [],
      /** Stations an earlier round left out, with the day of the first that did. */
      carried: new Map(planned?.left.map((one) => [one.station, one.carried_since])),
    };
  });
}

/** Stations somebody was at today, by a plan of today and by what was noted here since. */
export function seenBefore(
  planned: Roster | undefined,
  fresh: readonly Entry[],
  today: string,
): ReadonlySet<string> {
  const noted = fresh.filter((entry) => entry.at.slice(0, 10) === today);
  const rounds = noted.filter((entry) => entry.kind === "round");
  return new Set([
    ...(planned?.days[0]?.day === today ? planned.seen : []),
    ...rounds.flatMap((entry) => entry["passed"] as readonly string[]),
    ...noted.flatMap((entry) => entry.station ?? []),
  ]);
}
