import { useHere } from "../../here";
import { WarningLine } from "../../parts/warnings";
import { leave } from "../../route";
import { findingWords } from "../../words/findings";
import { crossedWords } from "../../words/planned";
import { t } from "../../words/words";
import type { Form } from "./form";

/** The press that saves, under the thumb; above it what the value means, and what to look at again. */
export function SaveBar({ form }: { form: Form }) {
  useHere();
  const found = form.finding.value;
  const fieldless =
    found !== null && (found.ask || !((found.field.split(".")[0] as string) in (form.rule?.fields ?? {})));
  return (
    <div class="save-bar">
      <ul class="warnings" aria-live="polite">
        {(found ? [] : form.crossed.value).map((one) => (
          <WarningLine key={one.limit.code} level={one.limit.level} words={crossedWords(form.station, one)} />
        ))}
      </ul>
      {fieldless && !found.ask && (
        <p class="finding" role="alert">
          {findingWords(found)}
        </p>
      )}
      <div class="bar">
        <button type="button" class="aside" onClick={() => leave(["station", form.station.id])}>
          {t("app.record.cancel")}
        </button>
        <button type="submit" class="main">
          {t(found?.ask ? "app.record.save_anyway" : "app.record.save")}
        </button>
      </div>
    </div>
  );
}
