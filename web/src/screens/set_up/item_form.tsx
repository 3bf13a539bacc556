import { useState } from "preact/hooks";
import { said, unsaved, useHere } from "../../here";
import { check, type Finding } from "../../log/check";
import { type FieldRule, knowledge } from "../../log/knowledge";
import { newId } from "../../log/new_id";
import { findingWords } from "../../words/findings";
import { t } from "../../words/words";
import { Field } from "../record/field";
import { fieldsOf } from "./fields_of";
import { Weighings } from "./weighings";

/** The weighings that tell a feedstock's moisture; they wait until somebody wants them. */
const SAMPLE: ReadonlySet<string> = new Set(["sample_wet", "sample_dry", "sample_dish"]);

/** When a person is reminded, and when nothing rings for them. */
export const HOURS = ["remind_hour", "quiet_from_hour", "quiet_until_hour"] as const;

/** What nobody says of a thing that is only being set up. */
const LATER: ReadonlySet<string> = new Set(["retired", "weighed_times", ...HOURS]);

/** What goes by its name alone; a station without one is called by its kind. */
const NAMED: ReadonlySet<string> = new Set(["person", "container", "feedstock"]);
const NAMELESS: Finding = { code: "missing", field: "set.name", values: {}, ask: false };
/** A container that says nothing of what it holds fills no record; it may be measured later. */
const UNMEASURED: Finding = { code: "unmeasured", field: "set.volume", values: {}, ask: true };

/** One thing set up: only what was changed is saved, as an entry of its own. */
export function ItemForm({
  what,
  id,
  only,
  done,
}: {
  what: string;
  id: string;
  /** The fields to ask for; all of them, if left out. */
  only?: readonly string[];
  done(): void;
}) {
  const { journal, holding } = useHere();
  /** What holds of a person where nothing was set. */
  const holds: Readonly<Record<string, unknown>> = {
    ...holding.plan.value?.place.people.find((one) => what === "person" && one.id === id),
  };
  const there = holding.item(what, id)?.fields ?? {};
  const [change, put] = useState<Readonly<Record<string, unknown>>>({});
  const [found, find] = useState<Finding | null>(null);
  const now = { ...there, ...change };
  const rules = Object.entries(knowledge.setup[what] ?? {});
  const set = (name: string, value: unknown) => {
    put({ ...change, [name]: value ?? null });
    find(null);
    unsaved.value = true;
  };
  const close = () => {
    unsaved.value = false;
    done();
  };
  const save = async () => {
    const item = id || newId(String(now["name"] ?? now["type"] ?? ""), taken(), what);
    const draft = { kind: "setup", what, item, set: change };
    if (id === "" && NAMED.has(what) && String(now["name"] ?? "").trim() === "") return find(NAMELESS);
    const bare = what === "container" && !now["volume"] && !now["full_mass"] && now["retired"] !== true;
    if (bare && !found?.ask) return find(UNMEASURED);
    const wrong = check({ ...draft, id: "x", at: "" }, holding.known.value);
    if (wrong !== null && !(wrong.ask && found?.ask)) return find(wrong);
    if (Object.keys(change).length > 0) {
      const [entry] = await journal.save([draft]);
      if (entry) said.value = { key: "app.saved", undo: () => journal.retract(entry.id) };
    }
    close();
  };
  const shown = rules
    .filter(([name]) => only === undefined || only.includes(name))
    .filter(([name]) => fieldsOf(what, String(now["type"] ?? "")).has(name))
    .filter(([name]) => id !== "" || !LATER.has(name));
  const planned = holding.plan.value?.place.feedstocks.find((one) => what === "feedstock" && one.id === id);
  const field = ([name, rule]: [string, FieldRule]) => (
    <Field
      key={name}
      name={name}
      rule={rule}
      kind="setup"
      stationType={String(now["type"] ?? "")}
      value={now[name] ?? undefined}
      start={HOURS.some((hour) => hour === name) ? holds[name] : undefined}
      wrong={found?.field === `set.${name}` ? found : null}
      onChange={(value) => set(name, value)}
    />
  );
  const taken = () => new Set(journal.setUp.value[what]?.keys() ?? []);
  return (
    <form
      class="record inset"
      onSubmit={(event) => {
        event.preventDefault();
        void save();
      }}
    >
      {shown.filter(([name]) => !SAMPLE.has(name)).map(field)}
      {what === "container" && only === undefined && (
        <Weighings
          onChange={(full, times) => {
            put({ ...change, full_mass: full ?? null, weighed_times: times ?? null });
            find(null);
            unsaved.value = true;
          }}
        />
      )}
      {what === "feedstock" && only === undefined && (
        <details class="more" open={shown.some(([name]) => SAMPLE.has(name) && now[name])}>
          <summary>{t("app.set_up.sample")}</summary>
          <p>{t("app.set_up.sample.about")}</p>
          {shown.filter(([name]) => SAMPLE.has(name)).map(field)}
          {planned && <p>{t("app.set_up.sample.now", { moisture: planned.moisture_pct })}</p>}
        </details>
      )}
      {found && !shown.some(([name]) => found.field === `set.${name}`) && (
        <p class="finding" role="alert">
          {findingWords(found)}
        </p>
      )}
      <div class="bar">
        <button type="button" class="aside" onClick={close}>
          {t("app.record.cancel")}
        </button>
        <button type="submit" class="main">
          {t(found?.ask ? "app.record.save_anyway" : "app.record.save")}
        </button>
      </div>
    </form>
  );
}
