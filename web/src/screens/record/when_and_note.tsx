import { unsaved, useHere } from "../../here";
import { localMinute } from "../../log/clock";
import { t } from "../../words/words";
import { SOMETHING_ELSE } from "./field";
import type { Form } from "./form";

/** When it happened, if not now; a note, if there is more to say; and who is writing. */
export function WhenAndNote({ form }: { form: Form }) {
  const { journal, holding } = useHere();
  const person = holding.people.value.find((one) => one.id === journal.kept.value["person"]);
  const signs = form.values.value["signs"];
  return (
    <details class="more" open={Array.isArray(signs) && signs.includes(SOMETHING_ELSE)}>
      <summary>{t("app.record.when_and_note")}</summary>
      <label class="typed">
        <span>{t("app.record.when")}</span>
        <input
          type="datetime-local"
          value={form.at.value}
          max={localMinute(new Date())}
          onInput={(event) => {
            form.at.value = event.currentTarget.value;
            form.finding.value = null;
            unsaved.value = true;
          }}
        />
        <span class="soft">{t("app.record.when_empty")}</span>
      </label>
      <label class="typed">
        <span>{t("app.record.note")}</span>
        <textarea
          rows={3}
          value={form.note.value}
          onInput={(event) => {
            form.note.value = event.currentTarget.value;
            unsaved.value = true;
          }}
        />
      </label>
      <p class="soft">{person ? t("app.record.by", { name: person.name }) : t("app.record.by_nobody")}</p>
    </details>
  );
}
