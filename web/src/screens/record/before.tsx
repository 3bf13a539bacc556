import { useHere } from "../../here";
import { fieldWords } from "../../words/told";
import { t } from "../../words/words";
import type { Form } from "./form";

/** What is done the same way again; what is measured or seen is noted anew. */
const REPEATED = new Set(["feed", "water", "given", "reject"]);

/** The last few records of this kind: one press fills the form with one of them. */
export function Before({ form }: { form: Form }) {
  const { holding } = useHere();
  const found = form.before.value;
  if (found.length === 0 || !REPEATED.has(form.kind)) return null;
  return (
    <fieldset class="choice before">
      <legend>{t("app.record.before")}</legend>
      {found.map((fields) => {
        const words = Object.entries(fields).map(([name, value]) =>
          fieldWords(form.kind, name, value, holding),
        );
        const same = JSON.stringify(fields) === JSON.stringify(form.values.value);
        return (
          <button
            key={words.join()}
            type="button"
            class={`pick ${same ? "picked" : ""}`}
            aria-pressed={same}
            onClick={() => {
              for (const [name, value] of Object.entries(fields)) form.set(name, value);
            }}
          >
            <span>{words.filter(Boolean).join(t("app.comma"))}</span>
          </button>
        );
      })}
    </fieldset>
  );
}
