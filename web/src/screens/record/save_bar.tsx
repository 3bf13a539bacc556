import { useHere } from "../../here";
import { isFilled, isQuantity } from "../../log/entry";
import { Early } from "../../parts/early";
import { WarningLine } from "../../parts/warnings";
import { leave, to } from "../../route";
import { anyOf, findingWords } from "../../words/findings";
import { crossedWords } from "../../words/planned";
import { notDue } from "../../words/turning";
import { t } from "../../words/words";
import type { Form } from "./form";

/** What was to go in, as the link to the bucket says it. */
function held(form: Form): readonly string[] {
  const { feedstock, amount } = form.values.value;
  if (isFilled(amount)) return [String(feedstock), amount.container, String(amount.filled ?? 1)];
  return isQuantity(amount) ? [String(feedstock), amount.unit, String(amount.value)] : [];
}

/** The press that saves, under the thumb; above it what the value means, and what to look at again. */
export function SaveBar({ form }: { form: Form }) {
  const { holding } = useHere();
  const fed = holding.feedingSide(form.station.id);
  const early = form.kind === "switch" && form.side.value !== fed ? notDue(form.station, fed) : [];
  const found = form.finding.value;
  const fieldless =
    found !== null && (anyOf(found) || !((found.field.split(".")[0] as string) in (form.rule?.fields ?? {})));
  return (
    <div class="save-bar">
      <ul class="warnings" aria-live="polite">
        {(found ? [] : form.crossed.value).map((one) => (
          <WarningLine key={one.limit.code} level={one.limit.level} words={crossedWords(form.station, one)} />
        ))}
      </ul>
      {fieldless && (
        <p class="finding" role="alert">
          {findingWords(found)}
        </p>
      )}
      {found?.code === "over_ration" && (
        <a class="plain" href={to("bucket", ...held(form))}>
          {t("app.record.rest")}
        </a>
      )}
      <Early why={early} />
      <div class="bar">
        <button type="button" class="aside" onClick={() => leave(["station", form.station.id])}>
          {t("app.record.cancel")}
        </button>
        <button type="submit" class="main">
          {t(
            found?.ask
              ? "app.record.save_anyway"
              : early.length > 0
                ? "app.station.switch_anyway"
                : "app.record.save",
          )}
        </button>
      </div>
    </div>
  );
}
