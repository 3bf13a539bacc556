import { useRef } from "preact/hooks";
import { useHere } from "../here";
import { instant, t } from "../words/words";
import { keepRoom } from "./room";

/** After this long a plan says its age even when nothing here is missing from it. */
const FRESH_MS = 3_600_000;

/** How old the figures are, and how many entries made here they don't know yet; once said on a screen it stays there. */
export function PlanAge() {
  const { journal } = useHere();
  const said = useRef(false);
  const kept = journal.plan.value;
  const missing = journal.fresh.value.length;
  if (kept === null) return <p class="age">{t("app.plan.none")}</p>;
  const old = Date.now() - Date.parse(kept.gotAt) > FRESH_MS;
  said.current ||= missing > 0 || old;
  if (!said.current) return null;
  return (
    <p class="age" ref={keepRoom}>
      {t("app.plan.age", { at: instant(kept.gotAt) })}
      {missing > 0 && ` ${t("app.plan.missing", { missing })}`}
    </p>
  );
}
