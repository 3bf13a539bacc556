import { computed, signal } from "@preact/signals";
import type { Part } from "../../core/fold";
import type { Route, RouteShare } from "../../generated/shapes";
import { type Here, said } from "../../here";
import { asked as asks } from "../../log/asking";
import { check, type Finding } from "../../log/check";
import { rfc3339 } from "../../log/clock";
import type { Draft } from "../../log/entry";
import { openRounds } from "../../log/round";

/** What is being said of one thing in the bucket; it counts once there is an amount. */
export type Said = { readonly feedstock: string; readonly amount?: unknown };

/** Where the answer came from, or why there is none. */
export type Answer =
  | { readonly by: "phone" | "service"; readonly route: Route }
  | { readonly by: "nobody"; readonly route: null };

export type Bucket = ReturnType<typeof openBucket>;

/** A bucket as it is filled on the screen, its answer, and the entries it becomes. */
export function openBucket({ journal, holding, fold }: Here) {
  const parts = signal<readonly Said[]>([]);
  /** The part whose amount is being set; null while nothing is. */
  const open = signal<number | null>(null);
  const choosing = signal(true);
  const answer = signal<Answer | null>(null);
  const finding = signal<Finding | null>(null);
  /** Bedding that went in as well, as a person says; by station and side. */
  const added = signal<ReadonlySet<string>>(new Set());

  const known = computed(() => parts.value.flatMap((one) => (judged(one) === null ? [one as Part] : [])));
  let asked = 0;

  function judged(one: Said): Finding | null {
    const station = holding.stations.value.find(({ type }) => type === "bin" || type === "bed");
    const draft = { kind: "feed", station: station?.id, side: "a", at: rfc3339(new Date()), ...one };
    const found = check(draft, holding.known.value);
    return found?.ask ? null : found;
  }

  /** Ask where it goes: the fold on the phone first, the service if that isn't ready. */
  async function ask(): Promise<void> {
    asked += 1;
    const mine = asked;
    const bucket = known.value;
    if (bucket.length === 0) {
      answer.value = null;
      return;
    }
    const here = await fold.route(bucket);
    const found = here ?? (await journal.route(bucket));
    if (mine !== asked) return;
    added.value = new Set();
    answer.value =
      found === null ? { by: "nobody", route: null } : { by: here ? "phone" : "service", route: found };
  }

  const put = (next: readonly Said[]) => {
    parts.value = next;
    finding.value = null;
  };

  return {
    parts,
    open,
    choosing,
    answer,
    finding,
    added,
    known,
    ask,
    judged,

    /** Begin with what somebody holds: so much of a container, or so many of a unit. */
    begin(feedstock: string, of: string, much: number): void {
      const filled = holding.containers.value.some((one) => one.id === of);
      put([{ feedstock, amount: filled ? { container: of, filled: much } : { value: much, unit: of } }]);
      choosing.value = false;
    },

    choose(feedstock: string): void {
      const there = parts.value.findIndex((one) => one.feedstock === feedstock);
      if (there < 0) put([...parts.value, { feedstock }]);
      open.value = there < 0 ? parts.value.length - 1 : there;
      choosing.value = false;
    },

    /** Set an amount; one of a container is final, a dial may turn on. */
    amount(index: number, amount: unknown, done: boolean): void {
      put(parts.value.map((one, at) => (at === index ? { ...one, amount } : one)));
      if (done) open.value = null;
    },

    drop(index: number): void {
      put(parts.value.filter((_, at) => at !== index));
      open.value = null;
      choosing.value = parts.value.length === 0;
    },

    toggle(key: string): void {
      const next = new Set(added.value);
      if (!next.delete(key)) next.add(key);
      added.value = next;
    },

    clear(): void {
      put([]);
      open.value = null;
      choosing.value = true;
      answer.value = null;
    },

    /** The feeds the answer means, with the bedding that went in too. */
    drafts: (): Draft[] => (answer.value?.route ? draftsOf(answer.value.route, added.value) : []),

    /** Record them all at once, with one way back. An unusual amount is asked about once. */
    async record(): Promise<boolean> {
      const drafts = draftsOf((answer.value as Answer).route as Route, added.value);
      const at = rfc3339(new Date());
      for (const draft of drafts) {
        const found = check({ ...draft, at }, holding.known.value) ?? asks(draft, holding, journal);
        if (found !== null && !(found.ask && finding.value?.ask)) {
          finding.value = found;
          return false;
        }
      }
      const entries = await journal.save(drafts).catch(() => []);
      if (entries.length === 0) {
        finding.value = { code: "store_failed", field: "", ask: false, values: {} };
        // What was said of an earlier one must not stand beside it.
        said.value = null;
        return false;
      }
      for (const station of new Set(drafts.map((one) => String(one["station"])))) {
        await openRounds(journal).pass(station);
      }
      const undo = () =>
        journal.save(entries.map(({ id }) => ({ kind: "correction", of: id, action: "retract" })));
      said.value = { key: "app.bucket.recorded", values: { count: entries.length }, undo };
      return true;
    },
  };
}

export const placeKey = (one: { readonly station: string | null; readonly side: string | null }): string =>
  `${one.station ?? ""} ${one.side ?? ""}`;

/** A feed for each share that goes to a station, each amount as it was measured. */
export function draftsOf(route: Route, added: ReadonlySet<string>): Draft[] {
  const where = ({ station, side }: Pick<RouteShare, "station" | "side">) => ({
    kind: "feed",
    station,
    ...(side === null ? {} : { side }),
  });
  const feeds = route.shares
    .filter((one) => one.where === "station")
    .flatMap((one) => one.amounts.map((amount) => ({ ...where(one), feedstock: one.material, amount })));
  const bedding = route.together
    .filter((one) => added.has(`${placeKey(one)} ${one.material}`) && one.material !== WATER)
    .map((one) => ({
      ...where(one),
      feedstock: one.material,
      amount: { value: one.kg, unit: "kg" },
    }));
  const water = route.together
    .filter((one) => added.has(`${placeKey(one)} ${one.material}`) && one.material === WATER)
    .map((one) => ({ ...where(one), kind: "water", amount: { value: one.kg, unit: "L" } }));
  return [...feeds, ...bedding, ...water];
}

const WATER = "water";
