import { useHere } from "../here";
import { instant, t } from "../words/words";

/** After this long a plan says its age even when nothing here is missing from it. */
const FRESH_MS = 3_600_000;

/** How old the figures are, and how many entries made here they don't know yet. */
export function PlanAge() {
  const { journal } = useHere();
  const kept = journal.plan.value;
  const missing = journal.fresh.value.length;
  if (kept === null) return <p class="age">{t("app.plan.none")}</p>;
  const old = Date.now() - Date.parse(kept.gotAt) > FRESH_MS;
  if (missing === 0 && !old) return null;
  return (
    <p class="age">
      {t("app.plan.age", { at: instant(kept.gotAt) })}
      {missing > 0 && ` ${t("app.plan.missing", { missing })}`}
    </p>
  );
}
