import type { Job } from "../generated/shapes";
import { useHere } from "../here";
import { daysBetween } from "../log/clock";
import type { Station } from "../log/holding";
import { Pair } from "../parts/drawn/pair";
import { Glyph } from "../parts/glyph";
import { CautionList } from "../parts/jobs";
import { DONE_BY } from "../parts/layout";
import { notedAt } from "../parts/noted_at";
import { Questions } from "../parts/questions";
import { useDrawn } from "../parts/rest";
import { Head, Part } from "../parts/screen";
import { to } from "../route";
import { becauseWords, dayOf, dueWords, jobWords } from "../words/planned";
import { entryWords } from "../words/told";
import { instant, t, today } from "../words/words";
import { lessonOf, stepsOf } from "./day/guide";
import "../style/day.css";

type Task = { readonly station: Station; readonly job: Job };

/** Today for somebody who is here for the first time: each job in plain steps, with why and what to mind. */
export function DayScreen() {
  const { holding } = useHere();
  const tasks = holding.stations.value.flatMap((station) =>
    (station.plan?.jobs ?? [])
      .filter((job) => daysBetween(today(), job.due) <= 0)
      .map((job) => ({ station, job })),
  );
  const drawn = useDrawn(tasks.length);
  const types = new Set(holding.stations.value.map((one) => one.type));
  return (
    <>
      <Head title={t("app.day.title")}>
        <p class="lead">{t("app.day.count", { count: tasks.length })}</p>
      </Head>
      <Questions />
      <details class="more" open={tasks.length === 0}>
        <summary>{t("app.day.before")}</summary>
        <Minds names={["ready", "hands", "rules", ...(types.has("pond") ? ["water"] : [])]} />
      </details>
      <ol class="day">
        {tasks.slice(0, drawn + 1).map((task, index) => (
          <Step key={task.job.id} task={task} open={index === 0} />
        ))}
      </ol>
      {drawn >= tasks.length && <After none={tasks.length === 0} />}
    </>
  );
}

/** What stands below the tasks. */
function After({ none }: { none: boolean }) {
  return (
    <>
      {none && <Nothing />}
      <Done />
      <Part title={t("app.day.after")}>
        <ol class="steps">
          {["1", "2", "3"].map((n) => (
            <li key={n}>{t(`app.day.after.${n}`)}</li>
          ))}
        </ol>
      </Part>
      <p class="soft part">{t("app.day.basis")}</p>
    </>
  );
}

function Step({ task: { station, job }, open }: { task: Task; open: boolean }) {
  const lesson = lessonOf(station, job);
  const noted = notedAt(station, DONE_BY[job.what], job);
  return (
    <li>
      <details class="task" open={open}>
        <summary>
          <Glyph name={station.type} size={34} />
          <span>
            <strong>{jobWords(station, job)}</strong>
            <small>
              {station.name} · <span class={job.late ? "late" : ""}>{dueWords(job.due)}</span>
            </small>
          </span>
        </summary>
        <p>
          <strong>{t("app.day.why")}</strong> {becauseWords(station, job.because, job.side)}
        </p>
        <Minds names={lesson.minds} />
        <CautionList station={station} keys={job.cautions} />
        <ol class="steps">
          {stepsOf(station, job).map((key) => (
            <li key={key}>{t(key)}</li>
          ))}
        </ol>
        {lesson.sight && <Pair sight={lesson.sight} />}
        <div class="task-ends">
          <a class="main" href={noted ?? to("station", station.id)}>
            {t(noted ? "app.job.record" : "app.day.open")}
          </a>
          <a class="pick" href={to("station", station.id, "record", "question")}>
            {t("app.day.ask")}
          </a>
        </div>
      </details>
    </li>
  );
}

/** What to mind, at the moment it matters. */
function Minds({ names }: { names: readonly string[] }) {
  return (
    <ul class="cautions">
      {names.map((name) => (
        <li key={name}>
          <Glyph name="caution" size={22} />
          <p>{t(`app.cautions.${name}`)}</p>
        </li>
      ))}
    </ul>
  );
}

/** Nothing is due: the stations, each with what to look for. */
function Nothing() {
  const { holding } = useHere();
  return (
    <ul class="plain-list rows">
      {holding.stations.value.map((station) => (
        <li key={station.id}>
          <a class="row" href={to("station", station.id)}>
            <Glyph name={station.type} size={34} />
            <span>
              <strong>{station.name}</strong>
              <small>{t(stepsOf(station, { what: "look_in" })[0] ?? "app.day.open")}</small>
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

function Done() {
  const { journal, holding } = useHere();
  const done = journal.entries.value.filter((entry) => entry.station && dayOf(entry.at) === today());
  if (done.length === 0) return null;
  return (
    <Part title={t("app.day.done", { count: done.length })}>
      <ul class="plain-list rows">
        {done.map((entry) => (
          <li key={entry.id}>
            <a class="row" href={to("entry", entry.id)}>
              <span>
                {entryWords(entry, holding)}
                <small>
                  {holding.station(entry.station ?? "")?.name} · {instant(entry.at)}
                </small>
              </span>
              <Glyph name="tick" size={20} />
            </a>
          </li>
        ))}
      </ul>
    </Part>
  );
}
