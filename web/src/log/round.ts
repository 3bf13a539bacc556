import { computed } from "@preact/signals";
import { rfc3339 } from "./clock";
import type { Journal } from "./journal";

/** A round under way: kept on the phone until it is finished, then saved as one entry. */
export type Walk = { readonly started: string; readonly passed: readonly string[] };

export type Rounds = ReturnType<typeof openRounds>;

export function openRounds(journal: Journal, now: () => Date = () => new Date()) {
  const walk = computed(() => (journal.kept.value["walk"] as Walk | null | undefined) ?? null);

  return {
    walk,
    start: () => journal.keep("walk", { started: rfc3339(now()), passed: [] } satisfies Walk),
    drop: () => journal.keep("walk", null),

    /** Somebody has been at a station; outside a round this is nothing. */
    async pass(station: string): Promise<void> {
      const going = walk.value;
      if (going === null || going.passed.includes(station)) return;
      const next: Walk = { ...going, passed: [...going.passed, station] };
      // The entry made there is on the disk already. A phone too full for this must not look as if it
      // weren't: it would be recorded twice. The page remembers the stop until it is closed.
      await journal.keep("walk", next).catch(() => undefined);
    },

    /** The round is saved first and forgotten after: a phone that dies between tells it twice, not never. */
    async finish(): Promise<string | null> {
      const going = walk.value;
      if (going === null) return null;
      const [entry] = await journal.save([
        { kind: "round", started: going.started, finished: rfc3339(now()), passed: going.passed },
      ]);
      void journal.keep("walk", null);
      return entry?.id ?? null;
    },
  };
}
