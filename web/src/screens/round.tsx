import { computed, useComputed } from "@preact/signals";
import { useMemo } from "preact/hooks";
import { useHere } from "../here";
import type { Station } from "../log/holding";
import { openRoster } from "../log/roster";
import { openRounds } from "../log/round";
import { lastSeen } from "../log/seen";
import { PlanAge } from "../parts/plan_age";
import { Questions } from "../parts/questions";
import { Rest } from "../parts/rest";
import { Head } from "../parts/screen";
import { StationStone } from "../parts/stone";
import { Today } from "../parts/today";
import { Warnings } from "../parts/warnings";
import { to } from "../route";
import { dueWords, jobWords, rationWords } from "../words/planned";
import { ago, t, today, weekday } from "../words/words";

/** So many stations come with the first frame; what follows lies below a phone's edge. */
const IN_SIGHT = 3;

/** The stations in walking order: what is due at each, who was there last, and where one is by now. */
export function RoundScreen() {
  const { journal, holding } = useHere();
  const walk = openRounds(journal).walk.value;
  const stations = holding.stations.value;
  const person = useComputed(() => journal.kept.value["person"]).value;
  const nameless = person === undefined && holding.people.value.length > 0;
  const { before, carried } = openRoster(journal, holding).value;
  const next = stations.find((one) => walk !== null && !walk.passed.includes(one.id) && !before.has(one.id));
  const stops = stations.map((station) => (
    <Stop
      key={station.id}
      station={station}
      passed={walk?.passed.includes(station.id) ?? false}
      before={before.has(station.id)}
      left={carried.get(station.id)}
      next={station.id === next?.id}
    />
  ));
  return (
    <>
      <Head title={t("app.round.title")} abreast>
        <p class="lead">{weekday(today())}</p>
      </Head>
      {nameless && (
        <p class="notice">
          <a href={to("place", "who")}>{t("app.remind.who_first")}</a>
        </p>
      )}
      <Today />
      <Questions />
      <PlanAge />
      <ol class="path">
        {stops.slice(0, IN_SIGHT)}
        <Rest>{stops.slice(IN_SIGHT)}</Rest>
      </ol>
    </>
  );
}

type StopProps = {
  readonly station: Station;
  readonly passed: boolean;
  /** Whoever handed this round over has been here. */
  readonly before: boolean;
  /** An earlier round left it out, since that day. */
  readonly left: string | null | undefined;
  readonly next: boolean;
};

function Stop({ station, passed, before, left, next }: StopProps) {
  const { journal } = useHere();
  const due = station.plan?.jobs.filter((job) => job.due <= today()) ?? [];
  // Drawn anew only where another entry is the last, not for each that comes.
  const seen = useMemo(() => computed(() => lastSeen(journal.entries.value, station)), [station]).value;
  const by = useName(seen?.by);
  const done = passed || before;
  return (
    <li class={`stop ${done ? "passed" : ""} ${next ? "next" : ""}`}>
      <a href={to("station", station.id)}>
        <StationStone type={station.type} passed={done} />
        <span class="stop-words">
          <strong class="stop-name">{station.name}</strong>
          {station.plan?.ration && <span>{rationWords(station.plan.ration)}</span>}
          {due.slice(0, 2).map((job) => (
            <span key={job.id} class={`stop-due ${job.late ? "late" : ""}`}>
              {t("app.round.due", { job: jobWords(station, job), when: dueWords(job.due) })}
            </span>
          ))}
          {left && !done && <span class="stop-due late">{t("app.round.left_since", { since: left })}</span>}
          {due.length > 2 && <span class="stop-due">{t("app.round.more", { count: due.length - 2 })}</span>}
          <span class="soft">
            {passed
              ? t("app.round.passed")
              : seen
                ? t("app.round.seen", { ago: ago(seen.at), by, who: by ? "named" : "other" })
                : t("app.round.never_seen")}
          </span>
        </span>
      </a>
      <Warnings station={station} brief />
      <svg class="way" viewBox="0 0 90 100" preserveAspectRatio="none" aria-hidden="true">
        <path d="M36 0C36 60 54 40 54 100" />
      </svg>
    </li>
  );
}

function useName(id: string | null | undefined): string {
  const { holding } = useHere();
  return holding.people.value.find((one) => one.id === id)?.name ?? id ?? "";
}
