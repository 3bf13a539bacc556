import type { Job } from "../generated/shapes";
import { daysBetween } from "../log/clock";
import type { Station } from "../log/holding";
import { adviceWords, becauseWords, dueWords, jobWords, spanWords } from "../words/planned";
import { t, today } from "../words/words";
import { Glyph } from "./glyph";
import { DONE_BY } from "./layout";
import { notedAt } from "./noted_at";
import { Part } from "./screen";
import { Why } from "./why";

/** A job further off than this waits under 'later'. */
const SOON_DAYS = 7;
/** So close a job is all but begun: its cautions stand with it. */
const NOW_DAYS = 1;

/** What is to be done at a station, late things first, with the caution where it belongs. */
export function Jobs({ station }: { station: Station }) {
  const jobs = station.plan?.jobs ?? [];
  const soon = jobs.filter((job) => daysBetween(today(), job.due) <= SOON_DAYS);
  const later = jobs.filter((job) => !soon.includes(job));
  if (jobs.length === 0) return null;
  return (
    <Part title={t("app.station.jobs")}>
      {soon.length === 0 && <p class="soft">{t("app.station.no_jobs")}</p>}
      <JobList station={station} jobs={soon} />
      {later.length > 0 && (
        <details class="more">
          <summary>{t("app.station.later", { count: later.length })}</summary>
          <JobList station={station} jobs={later} />
        </details>
      )}
    </Part>
  );
}

function JobList({ station, jobs }: { station: Station; jobs: readonly Job[] }) {
  return (
    <ul class="jobs">
      {jobs.map((job) => (
        <JobLine key={job.id} station={station} job={job} />
      ))}
    </ul>
  );
}

function JobLine({ station, job }: { station: Station; job: Job }) {
  const span = spanWords(job);
  const noted = notedAt(station, DONE_BY[job.what], job);
  return (
    <li>
      <div class="job-line">
        <p>
          <strong>{jobWords(station, job)}</strong>
          <span class={`when ${job.late ? "late" : ""}`}>{dueWords(job.due)}</span>
        </p>
        {noted !== null && (
          <a class="plain" href={noted}>
            {t("app.job.record")}
          </a>
        )}
      </div>
      {span && <p class="soft">{span}</p>}
      <p class="soft">
        {becauseWords(station, job.because, job.side)}{" "}
        {job.because.entries.length + job.because.constants.length > 0 && (
          <Why station={station} because={job.because} side={job.side} />
        )}
      </p>
      {daysBetween(today(), job.due) <= NOW_DAYS && <CautionList station={station} keys={job.cautions} />}
    </li>
  );
}

/** What to mind, where it matters: with the job, and with the record it ends in. */
export function CautionList({ station, keys }: { station: Pick<Station, "type">; keys: readonly string[] }) {
  if (keys.length === 0) return null;
  return (
    <ul class="cautions">
      {keys.map((key) => (
        <li key={key}>
          <Glyph name="caution" size={22} />
          <p>{adviceWords(station, key)}</p>
        </li>
      ))}
    </ul>
  );
}
