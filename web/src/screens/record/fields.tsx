import type { FieldRule } from "../../log/knowledge";
import { FIRST } from "../../parts/layout";
import { t } from "../../words/words";
import { Field } from "./field";
import type { Form } from "./form";

/** The fields of a kind: those that matter most first, the others one press away. */
export function Fields({ form }: { form: Form }) {
  const all = Object.entries(form.rule?.fields ?? {});
  const first = FIRST[form.kind]?.[form.station.type];
  const near = first ? all.filter(([name]) => first.includes(name)) : all;
  const far = all.filter((one) => !near.includes(one));
  near.sort(([one], [other]) => (first ?? []).indexOf(one) - (first ?? []).indexOf(other));
  return (
    <>
      <List fields={near} form={form} />
      {far.length > 0 && (
        <details class="more">
          <summary>{t("app.record.more_fields")}</summary>
          <List fields={far} form={form} />
        </details>
      )}
    </>
  );
}

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
          wrong={form.finding.value?.field.split(".")[0] === name ? form.finding.value : null}
          onChange={(value) => form.set(name, value)}
        />
      ))}
    </>
  );
}
