import { signal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import type { Finding } from "../../log/check";
import type { FieldRule } from "../../log/knowledge";
import { Choice } from "../../parts/choice";
import { EITHER, FIRST } from "../../parts/layout";
import { Rest } from "../../parts/rest";
import { anyOf } from "../../words/findings";
import { t } from "../../words/words";
import { Field } from "./field";
import type { Form } from "./form";

/** The fields of a kind: those that matter most first, the others one press away. */
export function Fields({ form }: { form: Form }) {
  const all = Object.entries(form.rule?.fields ?? {});
  const ways = (EITHER[form.kind] ?? []).filter((name) => all.some(([field]) => field === name));
  const way = useMemo(() => signal(ways.find((name) => form.used(name)) ?? ways[0] ?? ""), [form]);
  const first = (FIRST[form.kind]?.[form.station.type] ?? all.map(([name]) => name)).filter(
    (name) => !ways.includes(name) || name === way.value,
  );
  const near = first.flatMap((name) => all.filter(([field]) => field === name));
  const far = all.filter((one) => !near.includes(one) && !ways.includes(one[0]));
  return (
    <>
      {ways.length > 1 && (
        <Choice
          legend={t("app.record.way")}
          chosen={[way.value]}
          onChoose={(name) => {
            way.value = name;
          }}
          choices={ways.map((name) => ({ value: name, words: t(`app.way.${form.kind}.${name}`) }))}
        />
      )}
      <List fields={near} form={form} />
      {far.length > 0 && (
        <details class="more">
          <summary>{t("app.record.more_fields")}</summary>
          <Rest>
            <List fields={far} form={form} />
          </Rest>
        </details>
      )}
    </>
  );
}

/** What is wrong with a field; where one of several is wanted, none of them is to blame. */
const blamed = (found: Finding | null, name: string): Finding | null =>
  found !== null && !anyOf(found) && found.field.split(".")[0] === name ? found : null;

function List({ fields, form }: { fields: readonly (readonly [string, FieldRule])[]; form: Form }) {
  return (
    <>
      {fields.map(([name, rule]) => (
        <Field
          key={name}
          name={name}
          rule={rule}
          kind={form.kind}
          stationType={form.station.type}
          value={form.values.value[name]}
          start={form.last(name)}
          wrong={blamed(form.finding.value, name)}
          offers={form.offers(name)}
          weigh={form.weigh}
          onChange={(value) => form.set(name, value)}
        />
      ))}
    </>
  );
}
