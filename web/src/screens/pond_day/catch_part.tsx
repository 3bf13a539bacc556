import type { DayCatch, PondDay, ShareOut } from "../../generated/watershapes";
import type { Station } from "../../log/holding";
import { Part } from "../../parts/screen";
import { Why } from "../../parts/why";
import { to } from "../../route";
import { ends, measure, t } from "../../words/words";

/** The catch that is planned or was just taken, what cleaning leaves of it, and where that goes. */
export function CatchPart({ station, day }: { station: Station; day: PondDay | undefined }) {
  const about = day?.planned ?? day?.last ?? null;
  return (
    <>
      <Part title={t("app.pond_day.catch")}>
        {about === null ? (
          <p>{t("app.pond_day.none")}</p>
        ) : (
          <Caught station={station} one={about} planned={day?.planned === about} />
        )}
        <div class="bar">
          <a class="aside" href={to("station", station.id, "record", "catch_plan")}>
            {t("app.pond_day.plan")}
          </a>
          <a class="main" href={to("station", station.id, "record", "catch")}>
            {t("app.pond_day.record")}
          </a>
        </div>
      </Part>
      {day?.share_out && <Shared station={station} shared={day.share_out} />}
    </>
  );
}

function Caught({ station, one, planned }: { station: Station; one: DayCatch; planned: boolean }) {
  const { scraps } = one;
  return (
    <>
      <p class="lead">
        {t(planned ? "app.pond_day.planned" : "app.pond_day.taken", {
          number: one.number,
          species: one.species,
          day: one.day,
        })}
      </p>
      <dl class="figures">
        {one.kg !== null && (
          <>
            <dt>{t("app.pond_day.weight")}</dt>
            <dd>{measure(one.kg, "kg")}</dd>
          </>
        )}
        {typeof scraps?.value === "number" && (
          <>
            <dt>{t("app.pond_day.scraps")}</dt>
            <dd>
              <Why station={station} because={scraps.because}>
                {measure(scraps.value, scraps.unit)}
                {scraps.low !== null && scraps.high !== null && scraps.low !== scraps.high && (
                  <small>
                    {t("app.range_short", ends(scraps.low, scraps.high, scraps.unit, scraps.value))}
                  </small>
                )}
              </Why>
            </dd>
          </>
        )}
      </dl>
      {scraps === null && <p class="soft">{t("app.pond_day.scraps_unknown")}</p>}
    </>
  );
}

function Shared({ station, shared }: { station: Station; shared: ShareOut }) {
  const days = shared.days === null ? t("app.pond_day.no_days") : t("app.pond_day.days", shared);
  return (
    <Part title={t("app.pond_day.where")}>
      <dl class="figures">
        <dt>{t("app.pond_day.bin_today")}</dt>
        <dd>{measure(shared.today_kg, "kg")}</dd>
        <dt>{t("app.pond_day.with_others")}</dt>
        <dd>{measure(shared.others_kg, "kg")}</dd>
        <dt>{t("app.pond_day.bed")}</dt>
        <dd>{t("app.pond_day.nothing")}</dd>
        <dt>
          {t("app.pond_day.freeze")}
          {shared.freeze_kg > 0 && <small class="soft under">{days}</small>}
        </dt>
        <dd>{measure(shared.freeze_kg, "kg")}</dd>
        {shared.bury_kg > 0 && (
          <>
            <dt>{t("app.pond_day.bury")}</dt>
            <dd>{measure(shared.bury_kg, "kg")}</dd>
          </>
        )}
      </dl>
      <Why station={station} because={shared.because} />
    </Part>
  );
}
