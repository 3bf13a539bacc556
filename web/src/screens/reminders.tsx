import { useRef } from "preact/hooks";
import type { Matter } from "../generated/shapes";
import { said, useHere } from "../here";
import { addDays } from "../log/clock";
import type { Station } from "../log/holding";
import { openReminders } from "../log/reminders";
import { notedAt } from "../parts/noted_at";
import { PlanAge } from "../parts/plan_age";
import { Rest } from "../parts/rest";
import { Head, Part } from "../parts/screen";
import { to } from "../route";
import { dueWords, spanWords } from "../words/planned";
import { doneBy, matterWords } from "../words/reminded";
import { recordName } from "../words/told";
import { t, today } from "../words/words";

const DAYS = [1, 3, 7] as const;

/** What to be reminded of, each thing once: now, put off, and to come. */
export function RemindersScreen() {
  const { journal, holding } = useHere();
  const { now, putOff, later } = openReminders(journal, doneBy).value;
  const listed = (matters: readonly Matter[]) =>
    matters.flatMap((one) => {
      const station = holding.station(one.station);
      return station ? [<Line key={one.id} station={station} one={one} />] : [];
    });
  return (
    <>
      <Head title={t("app.remind.title")}>
        <p class="soft">{t("app.remind.about")}</p>
      </Head>
      <PlanAge />
      {now.length === 0 ? <p class="lead">{t("app.remind.none")}</p> : <ul class="jobs">{listed(now)}</ul>}
      <Rest>
        {putOff.length > 0 && (
          <Part title={t("app.remind.put_off")}>
            <ul class="jobs">{listed(putOff)}</ul>
          </Part>
        )}
        {later.length > 0 && (
          <details class="more">
            <summary>{t("app.remind.later", { count: later.length })}</summary>
            <ul class="jobs">{listed(later)}</ul>
          </details>
        )}
        <p class="elsewhere">
          <a href={to("place", "reminders")}>{t("app.remind.elsewhere")}</a>
        </p>
      </Rest>
    </>
  );
}

function Line({ station, one }: { station: Station; one: Matter }) {
  const { holding } = useHere();
  const span = one.kind === "limit" ? "" : spanWords(one);
  const waits = one.put_off_until !== null && one.put_off_until > today();
  const by = holding.people.value.find(({ id }) => id === one.put_off_by)?.name ?? "";
  const asks = one.remind <= today();
  return (
    <li class={one.level === "danger" ? "warning warning-danger reminder" : "reminder"}>
      <div class="job-line">
        <p>
          <strong>{matterWords(station, one)}</strong>
          {one.due && <span class={`when ${asks ? "late" : ""}`}>{dueWords(one.due)}</span>}
        </p>
      </div>
      <p class="soft">
        <a href={to("station", station.id)}>{station.name}</a>
        {span && ` · ${span}`}
      </p>
      {waits && (
        <p class="soft">
          {t("app.remind.waits", { until: one.put_off_until, by, who: by ? "named" : "other" })}
        </p>
      )}
      {asks && <Presses station={station} one={one} waits={waits} />}
    </li>
  );
}

function Presses({ station, one, waits }: { station: Station; one: Matter; waits: boolean }) {
  const { journal } = useHere();
  const sheet = useRef<HTMLDialogElement>(null);
  const noted = notedAt(station, doneBy(one), one);
  const putOff = async (days: number) => {
    const until = addDays(today(), days);
    const [entry] = await journal.save([{ kind: "snooze", matter: one.id, until }]);
    if (entry && days > 0) {
      said.value = { key: "app.remind.saved", values: { until }, undo: () => journal.retract(entry.id) };
    }
    sheet.current?.close();
  };
  const looked = async () => {
    const [entry] = await journal.save([{ kind: "signs", station: station.id, signs: ["all_well"] }]);
    if (entry) {
      const of = recordName(station, entry.kind);
      said.value = { of, key: "app.saved", undo: () => journal.retract(entry.id) };
    }
  };
  return (
    <>
      <div class="buttons">
        {noted && (
          <a class="pick" href={noted}>
            {t("app.job.record")}
          </a>
        )}
        {one.what === "look_in" && (
          <button type="button" class="pick" onClick={() => void looked()}>
            {t("app.station.all_well")}
          </button>
        )}
        {waits ? (
          <button type="button" class="pick" onClick={() => void putOff(0)}>
            {t("app.remind.again")}
          </button>
        ) : (
          one.level !== "danger" && (
            <button type="button" class="pick" onClick={() => sheet.current?.showModal()}>
              {t("app.remind.put_off_press")}
            </button>
          )
        )}
      </div>
      <dialog ref={sheet} class="sheet" aria-label={t("app.remind.put_off_press")}>
        <h2>{matterWords(station, one)}</h2>
        <div class="choice one-column">
          {DAYS.map((days) => (
            <button key={days} type="button" class="pick" onClick={() => void putOff(days)}>
              {t("app.remind.days", { days })}
            </button>
          ))}
        </div>
        <button type="button" class="main" onClick={() => sheet.current?.close()}>
          {t("app.close")}
        </button>
      </dialog>
    </>
  );
}
