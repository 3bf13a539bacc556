import type { DayCatch, PondDay, ShareOut, ShoalState } from "../../generated/watershapes";
import type { Station } from "../../log/holding";
import { Glyph } from "../../parts/glyph";
import { CautionList } from "../../parts/jobs";
import { Part } from "../../parts/screen";
import { Range } from "../../parts/state_list";
import { Why } from "../../parts/why";
import { to } from "../../route";
import { day as dayWords, figureWords, mass, number, t, today } from "../../words/words";

/** The catches that are planned or were just taken, what cleaning leaves of them, and where that goes. */
export function CatchPart({ station, day }: { station: Station; day: PondDay | undefined }) {
  const { planned = [], taken = [], share_out = null, of_day = null } = day ?? {};
  return (
    <>
      <Part title={t("app.pond_day.catch")}>
        {planned.length + taken.length === 0 && <p>{t("app.pond_day.none")}</p>}
        <Catches station={station} words="app.pond_day.taken" catches={taken} />
        <Catches station={station} words="app.pond_day.planned" catches={planned} />
        <Held station={station} />
        <div class="bar catch-bar">
          <a class="aside" href={to("station", station.id, "record", "catch_plan")}>
            {t("app.pond_day.plan")}
          </a>
          <a class="main" href={to("station", station.id, "record", "catch")}>
            {t("app.pond_day.record")}
          </a>
        </div>
      </Part>
      {share_out && of_day && <Shared station={station} shared={share_out} ofDay={of_day} />}
    </>
  );
}

type Several = { station: Station; words: string; catches: readonly DayCatch[] };

function Catches({ station, words, catches }: Several) {
  if (catches.length === 0) return null;
  return (
    <ul class="plain-list rows">
      {catches.map((one) => (
        <li key={one.id}>
          <a class="row" href={to("entry", one.id)}>
            <Glyph name={words === "app.pond_day.planned" ? "catch_plan" : "catch"} size={26} />
            <strong>{t(words, { number: one.number, species: one.species, day: dayWords(one.day) })}</strong>
          </a>
          <Left station={station} one={one} />
        </li>
      ))}
    </ul>
  );
}

/** Fish that wait in the holding place, to be kept or let go. */
function Held({ station }: { station: Station }) {
  const shoals = (station.plan?.state["shoals"] ?? []) as readonly ShoalState[];
  const held = shoals.filter((one) => one.held > 0);
  if (held.length === 0) return null;
  return (
    <>
      <ul class="plain-list rows">
        {held.map((one) => (
          <li key={one.species} class="shoal">
            <Why station={station} because={one.because}>
              {number(one.held)} {one.species}, {t("app.pond.held")}
            </Why>
          </li>
        ))}
      </ul>
      <CautionList station={station} keys={HELD} />
    </>
  );
}

const HELD = ["pond.caution.held"];

/** What a catch weighs and what cleaning leaves of it. */
function Left({ station, one }: { station: Station; one: DayCatch }) {
  const { scraps, missing, barred } = one;
  return (
    <>
      <dl class="figures">
        {one.kg !== null && (
          <>
            <dt>{t("app.pond_day.weight")}</dt>
            <dd>
              <Why station={station} because={one.kg.because}>
                {figureWords(one.kg)}
              </Why>
            </dd>
          </>
        )}
        {typeof scraps?.value === "number" && (
          <>
            <dt>{t("app.pond_day.scraps")}</dt>
            <dd>
              <Why station={station} because={scraps.because}>
                {figureWords(scraps)}
                <Range of={scraps} />
              </Why>
            </dd>
          </>
        )}
      </dl>
      {missing && <p class="soft">{t("app.pond_day.scraps_unknown", { missing })}</p>}
      {barred && <p class="finding">{t(`app.pond_day.barred.${barred}`)}</p>}
    </>
  );
}

function Shared({ station, shared, ofDay }: { station: Station; shared: ShareOut; ofDay: string }) {
  const { scraps_kg: value, low_kg: low, high_kg: high, because } = shared;
  const all = { value, low, high, unit: "kg", because };
  const days = shared.days === null ? t("app.pond_day.no_days") : t("app.pond_day.days", shared);
  return (
    <Part title={t("app.pond_day.where")}>
      <dl class="figures">
        <dt>{t("app.pond_day.scraps_of", { day: dayWords(ofDay) })}</dt>
        <dd>
          <Why station={station} because={shared.because}>
            {figureWords(all)}
            <Range of={all} />
          </Why>
        </dd>
        <dt>{t(ofDay > today() ? "app.pond_day.bin_then" : "app.pond_day.bin_today")}</dt>
        <dd>{mass(shared.today_kg)}</dd>
        {shared.today_kg > 0 && (
          <>
            <dt>{t("app.pond_day.with_others")}</dt>
            <dd>{mass(shared.others_kg)}</dd>
          </>
        )}
        <dt>{t("app.pond_day.bed")}</dt>
        <dd>{t("app.pond_day.nothing")}</dd>
        <dt>
          {t("app.pond_day.freeze")}
          {shared.freeze_kg > 0 && <small class="soft under">{days}</small>}
        </dt>
        <dd>{mass(shared.freeze_kg)}</dd>
        {shared.bury_kg > 0 && (
          <>
            <dt>{t("app.pond_day.bury")}</dt>
            <dd>{mass(shared.bury_kg)}</dd>
          </>
        )}
      </dl>
    </Part>
  );
}
