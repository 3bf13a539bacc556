import { useState } from "preact/hooks";
import { useHere } from "../here";
import { check, type Finding } from "../log/check";
import { movedTo, writtenMinute } from "../log/clock";
import type { Entry } from "../log/entry";
import { knowledge } from "../log/knowledge";
import { Choice } from "../parts/choice";
import { findingWords } from "../words/findings";
import { sideName } from "../words/planned";
import { t } from "../words/words";
import { Field } from "./record/field";

/** Put an entry right: its fields as they stand, changed where they were wrong. */
export function Mend({
  entry,
  save,
  done,
}: {
  entry: Entry;
  save(change: Record<string, unknown>): Promise<void>;
  done(): void;
}) {
  const { holding } = useHere();
  const [change, put] = useState<Record<string, unknown>>({});
  const [found, find] = useState<Finding | null>(null);
  const rule = knowledge.kinds[entry.kind];
  const station = entry.station ? holding.station(entry.station) : undefined;
  const now: Record<string, unknown> = { ...entry, ...change };
  const set = (name: string, value: unknown) => put({ ...change, [name]: value ?? null });
  const submit = async () => {
    const wrong = check(now, holding.known.value);
    if (wrong !== null && !(wrong.ask && found?.ask)) return find(wrong);
    if (Object.keys(change).length > 0) await save(change);
    done();
  };
  return (
    <form
      class="record"
      onSubmit={(event) => {
        event.preventDefault();
        void submit();
      }}
    >
      {entry.side !== undefined && (
        <Choice
          legend={t("app.field.side")}
          choices={["a", "b"].map((side) => ({ value: side, words: sideName(station, side) }))}
          chosen={[String(now["side"])]}
          onChoose={(side) => set("side", side)}
        />
      )}
      {rule &&
        !("set" in rule.fields) &&
        Object.entries(rule.fields).map(([name, field]) => (
          <Field
            key={name}
            name={name}
            rule={field}
            kind={entry.kind}
            stationType={station?.type ?? ""}
            value={now[name] ?? undefined}
            start={undefined}
            wrong={found?.field.split(".")[0] === name ? found : null}
            onChange={(value) => set(name, value)}
          />
        ))}
      <label class="typed">
        <span>{t("app.record.when")}</span>
        <input
          type="datetime-local"
          value={writtenMinute(String(now["at"]))}
          required
          onInput={(event) =>
            event.currentTarget.value !== "" && set("at", movedTo(entry.at, event.currentTarget.value))
          }
        />
      </label>
      <label class="typed">
        <span>{t("app.record.note")}</span>
        <textarea
          rows={2}
          value={String(now["note"] ?? "")}
          onInput={(event) => set("note", event.currentTarget.value || undefined)}
        />
      </label>
      {found && (
        <p class="finding" role="alert">
          {findingWords(found)}
        </p>
      )}
      <div class="bar">
        <button type="button" class="aside" onClick={done}>
          {t("app.record.cancel")}
        </button>
        <button type="submit" class="main">
          {t(found?.ask ? "app.record.save_anyway" : "app.entry.mend_save")}
        </button>
      </div>
    </form>
  );
}
