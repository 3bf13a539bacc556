import type { PreserveState } from "../../generated/watershapes";
import type { Station } from "../../log/holding";
import { Part } from "../../parts/screen";
import { Why } from "../../parts/why";
import { to } from "../../route";
import { becauseWords } from "../../words/planned";
import { choiceWords } from "../../words/told";
import { mass, measure, t } from "../../words/words";

type Batches = { station: Station; batches: readonly PreserveState[] };

/** Batches smoked or kept, the newest first, held against published limits; it promises nothing. */
export function PreservePart({ station, batches }: Batches) {
  return (
    <Part title={t("app.pond_day.preserve")}>
      {batches.map((batch) => (
        <Batch key={batch.id} station={station} batch={batch} />
      ))}
      <a class="aside" href={to("station", station.id, "record", "preserve")}>
        {t("app.pond_day.preserve_record")}
      </a>
    </Part>
  );
}

function Batch({ station, batch }: { station: Station; batch: PreserveState }) {
  const { inside_c, minutes, kept_at_c, salt_in_water_pct } = batch;
  return (
    <>
      <a class="row" href={to("entry", batch.id)}>
        <strong>
          {choiceWords("method", batch.method)}
          {batch.kg !== null && `, ${mass(batch.kg)}`}
        </strong>
        <span class="soft">{t("app.pond_day.preserve_days", { days: batch.days })}</span>
      </a>
      <dl class="figures">
        {inside_c !== null && (
          <>
            <dt>{t("app.pond_day.preserve_inside")}</dt>
            <dd>
              {measure(inside_c, "degC")}
              {minutes !== null && (
                <small class="soft under">{t("app.pond_day.preserve_minutes", { minutes })}</small>
              )}
            </dd>
          </>
        )}
        {kept_at_c !== null && (
          <>
            <dt>{t("app.pond_day.preserve_kept")}</dt>
            <dd>{measure(kept_at_c, "degC")}</dd>
          </>
        )}
        {salt_in_water_pct !== null && (
          <>
            <dt>{t("app.pond_day.preserve_salt")}</dt>
            <dd>{measure(salt_in_water_pct, "percent")}</dd>
          </>
        )}
      </dl>
      <p class="soft">
        {becauseWords(station, batch.because)} <Why station={station} because={batch.because} />
      </p>
    </>
  );
}
