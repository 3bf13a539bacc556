import type { Job } from "../generated/shapes";
import type { Station } from "../log/holding";
import { adviceWords, dueWords, jobWords, spanWords } from "../words/planned";
import { t } from "../words/words";
import { Part } from "./screen";
import { Why } from "./why";

/** What is to be done at a station, late things first, with the caution where it belongs. */
export function Jobs({ station }: { station: Station }) {
  const jobs = station.plan?.jobs ?? [];
  if (jobs.length === 0) return null;
  return (
    <Part title={t("app.station.jobs")}>
      <ul class="jobs">
        {jobs.map((job) => (
          <JobLine key={job.id} station={station} job={job} />
        ))}
      </ul>
    </Part>
  );
}

function JobLine({ station, job }: { station: Station; job: Job }) {
  const span = spanWords(job);
  return (
    <li>
      <p>
        <strong>{jobWords(station, job)}</strong>
        <span class={`when ${job.late ? "late" : ""}`}>{dueWords(job.due)}</span>
      </p>
      {span && <p class="soft">{span}</p>}
      {job.cautions.map((key) => (
        <p key={key} class="caution">
          {adviceWords(station, key)}
        </p>
      ))}
      <Why station={station} because={job.because} side={job.side} />
    </li>
  );
}
