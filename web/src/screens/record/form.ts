import { computed, type ReadonlySignal, signal } from "@preact/signals";
import { type Here, said, unsaved } from "../../here";
import { asked, leftToday, weight } from "../../log/asking";
import { check, type Finding } from "../../log/check";
import { rfc3339 } from "../../log/clock";
import type { Draft, Entry } from "../../log/entry";
import type { Station } from "../../log/holding";
import { type KindRule, knowledge } from "../../log/knowledge";
import { boxes, species } from "../../log/known_names";
import { crossed } from "../../log/limits";
import { openRounds } from "../../log/round";
import { painted } from "../../painted";
import { KEPT, SAID_BY } from "../../parts/layout";
import { recordName } from "../../words/told";

/** What is being typed for one entry, and the ways it is judged and saved. */
export type Form = ReturnType<typeof openForm>;

/** What is known before anything is typed: the job that is to be noted, and its side. */
export type Begun = { readonly job?: string | undefined; readonly side?: string | undefined };

export function openForm({ journal, holding }: Here, station: Station, kind: string, begun: Begun = {}) {
  const rule = knowledge.kinds[kind];
  const saidBefore = SAID_BY[begun.job ?? ""] ?? {};
  const values = signal<Readonly<Record<string, unknown>>>(saidBefore);
  const side = signal(firstSide());
  const at = signal("");
  const note = signal("");
  const finding = signal<Finding | null>(null);
  const sided = rule?.side === true && station.type === "bed";

  function firstSide(): string {
    if (!sidedKind() || station.type !== "bed") return "";
    if (begun.side === "a" || begun.side === "b") return begun.side;
    const feeding = holding.feedingSide(station.id);
    const resting = feeding === "a" ? "b" : "a";
    return kind === "switch" || kind === "castings" ? resting : feeding;
  }

  function sidedKind(): boolean {
    return rule?.side === true || kind === "reading" || kind === "signs";
  }

  const drafted = (filled: Readonly<Record<string, unknown>>): Draft => ({
    kind,
    station: station.id,
    ...(side.value === "" ? {} : { side: side.value }),
    ...(at.value === "" ? {} : { at: rfc3339(new Date(at.value)) }),
    ...(note.value.trim() === "" ? {} : { note: note.value.trim() }),
    ...filled,
  });
  const draft = computed(() => drafted(values.value));

  /** Saved, and about to be left: what now comes to the log, this record first, changes nothing of the form. */
  const over = signal(false);
  const still = <T>(of: ReadonlySignal<T>): ReadonlySignal<T> => {
    let last = of.peek();
    return computed(() => {
      if (!over.value) last = of.value;
      return last;
    });
  };
  const log = { entries: still(journal.entries), fresh: still(journal.fresh) };

  const lastHere = computed(() =>
    log.entries.value.filter((entry) => entry.kind === kind && entry.station === station.id),
  );

  for (const name of KEPT[kind] ?? []) {
    const kept = last(name);
    if (kept !== undefined) values.value = { ...values.value, [name]: kept };
  }

  /** What was last noted in a field here, on this side if there are sides: the place to start from. */
  function last(name: string): unknown {
    const sameSide = lastHere.value.find(
      (entry) => entry[name] !== undefined && (side.value === "" || entry.side === side.value),
    );
    return sameSide?.[name] ?? planned(station, kind, side.value, name);
  }

  return {
    kind,
    rule,
    station,
    last,
    sided: sided || (sidedKind() && station.type === "bed"),
    values,
    side,
    at,
    note,
    finding,
    log,
    crossed: computed(() => crossed(draft.value, holding.limits.value)),

    set(name: string, value: unknown): void {
      const { [name]: _old, ...others } = values.value;
      values.value = value === undefined ? others : { ...others, [name]: value };
      finding.value = null;
      unsaved.value = true;
    },

    /** What an amount of what is chosen weighs; null where nobody can say: a pail was weighed with scraps. [kg] */
    weigh: (amount: unknown, feedstock = String(values.value["feedstock"] ?? "")): number | null =>
      rule?.fields["feedstock"] ? weight(amount, feedstock, holding) : null,

    /** What a text field was called here before: the fish of this pond, the boxes of this hive. */
    offers: (name: string): readonly string[] =>
      name === "species" ? species(station, log) : name === "box" ? boxes(station) : [],

    /** What may still go in today of what is chosen; null where no ration counts. [kg] */
    left: (feedstock: unknown = values.value["feedstock"]): number | null =>
      kind === "feed" ? leftToday({ ...draft.value, feedstock }, holding, log) : null,

    /** Whether a field was noted the last time. */
    used: (name: string): boolean => lastHere.value[0]?.[name] !== undefined,

    /** Whole records of this kind made here lately, each different one once. */
    before: computed(() =>
      distinct(
        lastHere.value.filter((entry) =>
          Object.entries(saidBefore).every(([name, said]) => entry[name] === said),
        ),
        repeatable(rule),
      ),
    ),

    /** Save all of a record that stands ready; it is filled in only where there is something to ask. */
    async saveAs(fields: Readonly<Record<string, unknown>>): Promise<boolean> {
      if (over.value) return false;
      unsaved.value = true;
      if (await this.save(drafted(fields), null)) return true;
      values.value = fields;
      return false;
    },

    /** Save, once, if nothing is to be mended; an unusual value is asked about once. True when it is saved. */
    async save(made = draft.value, before = finding.value): Promise<boolean> {
      if (over.value) return false;
      // A time is typed to the minute: one that hasn't come yet is a slip.
      if (at.value !== "" && new Date(at.value).getTime() > Date.now()) {
        finding.value = { code: "in_the_future", field: "at", ask: false, values: {} };
        return false;
      }
      const found =
        check({ ...made, at: made["at"] ?? rfc3339(new Date()) }, holding.known.value) ??
        asked(made, holding, journal);
      if (found !== null && !(found.ask && before?.ask && before.field === found.field)) {
        finding.value = found;
        return false;
      }
      over.value = true;
      const [entry] = await journal.save([made]).catch(() => []);
      if (entry === undefined) {
        over.value = false;
        finding.value = { code: "store_failed", field: "", ask: false, values: {} };
        // What was said of an earlier one must not stand beside it.
        said.value = null;
        return false;
      }
      unsaved.value = false;
      said.value = { of: recordName(station, kind), key: "app.saved", undo: () => journal.retract(entry.id) };
      await Promise.all([openRounds(journal).pass(station.id), painted()]);
      return true;
    },
  };
}

function planned(station: Station, kind: string, side: string, name: string): unknown {
  const last = station.plan?.last ?? {};
  return last[`${kind}.${side}.${name}`] ?? last[`${kind}.${name}`];
}

/** A photo shows what was there then, not what is there now. */
const repeatable = (rule: KindRule | undefined): string[] =>
  Object.entries(rule?.fields ?? {}).flatMap(([name, { type }]) => (type === "photos" ? [] : [name]));

const MOST_BEFORE = 3;

function distinct(entries: readonly Entry[], fields: readonly string[]): Record<string, unknown>[] {
  const found = new Map<string, Record<string, unknown>>();
  for (const entry of entries) {
    const same = Object.fromEntries(
      fields.filter((name) => entry[name] !== undefined).map((name) => [name, entry[name]]),
    );
    const key = JSON.stringify(same);
    if (!found.has(key)) found.set(key, same);
    if (found.size === MOST_BEFORE) break;
  }
  return [...found.values()];
}
