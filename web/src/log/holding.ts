import { computed } from "@preact/signals";
import type { FeedstockPlan, Limit, StationPlan } from "../generated/shapes";
import type { Known } from "./check";
import { type Entry, isQuantity } from "./entry";
import type { Journal } from "./journal";
import { kindsFor, knowledge } from "./knowledge";
import { crossed } from "./limits";
import { type Item, text } from "./place";
import { toSi } from "./units";

/** A station as the phone knows it: from the plan, and from set-up the plan hasn't seen. */
export type Station = {
  readonly id: string;
  readonly type: string;
  readonly name: string;
  readonly order: number;
  readonly item: Item | undefined;
  readonly plan: StationPlan | undefined;
};

export type Person = {
  readonly id: string;
  readonly name: string;
  readonly role: string;
  /** `YYYY-MM-DD`, or '' for somebody who stays. */
  readonly lastDay: string;
};
export type Container = {
  readonly id: string;
  readonly name: string;
  readonly litres: number | null;
  /** What it weighs when full, without itself. [kg] */
  readonly fullKg: number | null;
};
/** Something fed; its name is null when it is one of the shipped ones, whose words are in the catalogue. */
export type Feedstock = Pick<FeedstockPlan, "id" | "name" | "takes" | "cautions" | "stream"> & {
  /** What a litre weighs; null where nobody has said. */
  readonly kgPerL: number | null;
};

/** A kind of record, and a way to kill in others, that is offered only once the place has asked. */
const BATH = "bath";

/** So many of the newest entries say what is in use, and so many feedstocks are offered at once. */
const LATELY = 400;
const MOST_NEAR = 8;

/** Streams that are no scraps, and those laid under them: nobody asks where these go. */
const NO_SCRAPS: ReadonlySet<string> = new Set(["feed", "castings", "water"]);
const LAID: ReadonlySet<string> = new Set(["bedding", "paper"]);

/** What a feedstock is like of which nobody has said. */
const LIKE = "mixed_scraps";

export type Holding = ReturnType<typeof openHolding>;

/** The place as it is set up, ready for the screens. */
export function openHolding(journal: Journal) {
  const plan = computed(() => journal.plan.value?.plan ?? null);
  const items = (what: string): ReadonlyMap<string, Item> =>
    journal.setUp.value[what] ?? new Map<string, Item>();
  const retired = (item: Item | undefined) => item?.fields["retired"] === true;

  const stations = computed<readonly Station[]>(() => {
    const planned = new Map(plan.value?.stations.map((one) => [one.id, one]));
    const own = items("station");
    const ids = new Set([...planned.keys(), ...own.keys()]);
    return [...ids]
      .filter((id) => !retired(own.get(id)))
      .map((id) => station(id, own.get(id), planned.get(id)))
      .sort((one, other) => one.order - other.order || (one.id < other.id ? -1 : 1));
  });

  const people = computed<readonly Person[]>(() => {
    const planned = new Map(plan.value?.place.people.map((one) => [one.id, one]));
    return merged(planned, items("person"), (id, item, base) => ({
      id,
      name: text(item, "name") || base?.name || id,
      role: text(item, "role") || base?.role || "helper",
      lastDay: text(item, "last_day") || base?.last_day || "",
    }));
  });

  const containers = computed<readonly Container[]>(() => {
    const planned = new Map(plan.value?.place.containers.map((one) => [one.id, one]));
    return merged(planned, items("container"), (id, item, base) => ({
      id,
      name: text(item, "name") || base?.name || id,
      litres: si(item, "volume") ?? base?.litres ?? null,
      fullKg: si(item, "full_mass") ?? base?.full_kg ?? null,
    }));
  });

  const feedstocks = computed<readonly Feedstock[]>(() => {
    const planned = plan.value?.place.feedstocks ?? knowledge.feedstocks;
    return merged(new Map(planned.map((one) => [one.id, one])), items("feedstock"), (id, item, base) => {
      const named = planned.find((one) => one.id === text(item, "like"));
      const like = named ?? planned.find((one) => one.id === LIKE);
      return {
        id,
        name: text(item, "name") || base?.name || (item ? id : null),
        kgPerL: figure(item, "bulk_density_kg_per_l") ?? (base ?? like)?.kg_per_l ?? null,
        stream: text(item, "stream") || base?.stream || like?.stream || "",
        takes: base?.takes ?? like?.takes ?? [],
        cautions: base?.cautions ?? like?.cautions ?? [],
      };
    });
  });

  const known = computed<Known>(() => ({
    stations: new Map(stations.value.map((one) => [one.id, one.type])),
    containers: new Set(containers.value.map((one) => one.id)),
    feedstocks: new Set([...feedstocks.value, ...knowledge.feedstocks].map((one) => one.id)),
    densities: new Set([
      ...feedstocks.value.filter((one) => one.kgPerL !== null).map((one) => one.id),
      ...knowledge.feedstocks.filter((one) => one.kg_per_l !== null).map((one) => one.id),
    ]),
    weighed: new Set(containers.value.filter((one) => one.fullKg !== null).map((one) => one.id)),
    unmeasured: new Set(
      containers.value.filter((one) => one.fullKg === null && one.litres === null).map((one) => one.id),
    ),
  }));

  const limits = computed<readonly Limit[]>(() => plan.value?.limits ?? []);
  const bathOpen = computed(() => {
    const asked = items("place").get("place")?.fields;
    return (
      Boolean(text(items("place").get("place"), "bath_checked").trim()) &&
      isQuantity(asked?.["bath_concentration"])
    );
  });

  return {
    stations,
    people,
    containers,
    feedstocks,
    known,
    limits,
    plan,
    /** The kinds that may be recorded at a station now; a bath is none until the place has asked. */
    kindsFor: (stationType: string): string[] =>
      kindsFor(stationType).filter((kind) => kind !== BATH || bathOpen.value),
    /** The words a field offers; nothing offers a bath until the place has asked. */
    offered: (choices: readonly string[]): readonly string[] =>
      choices.filter((one) => one !== BATH || bathOpen.value),
    name: computed(() => text(items("place").get("place"), "name") || plan.value?.place.name || ""),
    invented: computed(
      () => items("place").get("place")?.fields["invented"] === true || plan.value?.place.invented,
    ),
    station: (id: string) => stations.value.find((one) => one.id === id),
    item: (what: string, id: string) => items(what).get(id),

    /** Limits crossed by readings the plan doesn't know yet: the newest reading of each field counts. */
    warnings: (stationId: string) => {
      if (journal.freshIds.value.size === 0) return [];
      const seen = new Set<string>();
      return journal.entries.value
        .filter((entry) => entry.station === stationId && journal.freshIds.value.has(entry.id))
        .flatMap((entry) => crossed(unseen(entry, seen), limits.value));
    },

    /** What may be fed at a kind of station, or at any if none is named: used lately or of the place's own first, then the rest. */
    feedstocksFor: (stationType: string): { near: readonly string[]; far: readonly string[] } => {
      const any = stationType === "";
      const fit = feedstocks.value.filter(
        (one) => any || one.takes.length === 0 || one.takes.includes(stationType),
      );
      const fitting = new Set(fit.map((one) => one.id));
      // Peeked at: choices in another order, because something was saved, would move under the thumb.
      const lately = journal.entries
        .peek()
        .slice(0, LATELY)
        .filter((entry) => any || known.value.stations.get(entry.station ?? "") === stationType)
        .map((entry) => String(entry["feedstock"]))
        .filter((id) => fitting.has(id));
      const near = [...new Set([...lately, ...fit.filter((one) => one.name !== null).map(({ id }) => id)])];
      const shown = (near.length > 0 ? near : [...fitting]).slice(0, MOST_NEAR);
      return { near: shown, far: [...fitting].filter((id) => !shown.includes(id)) };
    },

    /** What may be in a bucket: fed lately or of the place's own first, then all that some station here takes. */
    scraps: (): { near: readonly string[]; far: readonly string[] } => {
      const types = new Set(stations.value.map((one) => one.type));
      const fit = feedstocks.value.filter(
        (one) =>
          !NO_SCRAPS.has(one.stream) && (one.takes.length === 0 || one.takes.some((x) => types.has(x))),
      );
      const scraps = new Set(fit.filter((one) => !LAID.has(one.stream)).map((one) => one.id));
      const lately = journal.entries.value
        .filter((entry) => entry.kind === "feed")
        .slice(0, LATELY)
        .map((entry) => String(entry["feedstock"]))
        .filter((id) => scraps.has(id));
      const own = fit.filter((one) => one.name !== null).map(({ id }) => id);
      const found = [...new Set([...lately, ...own])];
      const near = (found.length > 0 ? found : [...scraps]).slice(0, MOST_NEAR);
      return { near, far: fit.map(({ id }) => id).filter((id) => !near.includes(id)) };
    },

    /** The side being fed, as far as the phone knows: its own newest switch, the plan, the set-up. */
    feedingSide: (stationId: string): string => {
      const found = stations.value.find((one) => one.id === stationId);
      const fresh = journal.entries.value.find(
        (entry) =>
          entry.kind === "switch" && entry.station === stationId && journal.freshIds.value.has(entry.id),
      );
      const planned = found?.plan?.state["feeding_side"];
      if (fresh?.side) return fresh.side;
      return typeof planned === "string" ? planned : text(found?.item, "feeding_side") || "a";
    },
  };
}

/** What of an entry an earlier (newer) one hasn't told already; remembers what it saw. */
function unseen(entry: Entry, seen: Set<string>): Record<string, unknown> {
  const kept: Record<string, unknown> = { station: entry.station, side: entry.side };
  for (const [field, value] of Object.entries(entry)) {
    const key = `${entry.side ?? ""}.${field}`;
    if ((isQuantity(value) || typeof value === "number") && !seen.has(key)) {
      seen.add(key);
      kept[field] = value;
    }
  }
  return kept;
}

function station(id: string, item: Item | undefined, plan: StationPlan | undefined): Station {
  const order = item?.fields["order"];
  return {
    id,
    type: text(item, "type") || plan?.type || "",
    name: text(item, "name") || plan?.name || id,
    order: typeof order === "number" ? order : (plan?.order ?? 0),
    item,
    plan,
  };
}

function merged<Base, Shown>(
  planned: ReadonlyMap<string, Base>,
  own: ReadonlyMap<string, Item>,
  make: (id: string, item: Item | undefined, base: Base | undefined) => Shown,
): Shown[] {
  const ids = new Set([...own.keys(), ...planned.keys()]);
  return [...ids]
    .filter((id) => own.get(id)?.fields["retired"] !== true)
    .map((id) => make(id, own.get(id), planned.get(id)));
}

/** A quantity set up, in the unit the models use. */
function si(item: Item | undefined, field: string): number | null {
  const value = item?.fields[field];
  return isQuantity(value) ? (toSi(value.value, value.unit)?.value ?? null) : null;
}

function figure(item: Item | undefined, field: string): number | null {
  const value = item?.fields[field];
  return typeof value === "number" ? value : null;
}
