import { unsaved, useHere } from "../here";
import { t } from "../words/words";

/** A newer version waits. It is taken when a person says so, and never over something half typed. */
export function UpdateLine() {
  const { updates } = useHere();
  if (updates.waiting.value === null || unsaved.value) return null;
  return (
    <p class="notice">
      <span>{t("app.update.waiting")}</span>
      <button type="button" class="plain" onClick={() => updates.take()}>
        {t("app.update.take")}
      </button>
    </p>
  );
}
