import { isObject } from "../log/entry";
import type { Station } from "../log/holding";
import { mass, t } from "../words/words";

/** What to put in before nobody comes for some days, as the plan reckons it. */
export function Away({ station }: { station: Station }) {
  const away = station.plan?.state["away"];
  const cases = (Array.isArray(away) ? away : []).filter(isObject);
  if (cases.length === 0) return null;
  return (
    <details class="more">
      <summary>{t("app.away.title")}</summary>
      <ul class="plain-list rows">
        {cases.map((one) => (
          <li key={String(one["days"])} class="row">
            <span>
              <strong>{t("app.away.days", { days: one["days"] })}</strong>
              <small>{t("app.away.before", { kg: kg(one["before_kg"]), water: kg(one["water_kg"]) })}</small>
              {Number(one["visits"]) > 0 && (
                <small>{t("app.away.visits", { visits: one["visits"], kg: kg(one["visit_kg"]) })}</small>
              )}
            </span>
          </li>
        ))}
      </ul>
    </details>
  );
}

const kg = (value: unknown): string => (typeof value === "number" ? mass(value) : t("app.not_known"));
