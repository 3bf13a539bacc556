import type { Ahead, Job } from "../generated/shapes";
import { useHere } from "../here";
import { daysBetween } from "../log/clock";
import type { Station } from "../log/holding";
import { AheadList } from "../parts/ahead_list";
import { PlanAge } from "../parts/plan_age";
import { Head, Part } from "../parts/screen";
import { to } from "../route";
import { dueWords, jobWords } from "../words/planned";
import { t, today } from "../words/words";

const WHENS = ["now", "week", "month", "later", "not_within_a_year"] as const;
type When = (typeof WHENS)[number];
/** The last day, counted from today, that belongs under a heading. */
const UNTIL: readonly (readonly [When, number])[] = [
  ["now", 0],
  ["week", 7],
  ["month", 31],
];

function when(due: string | null): When {
  if (due === null) return "not_within_a_year";
  const days = daysBetween(today(), due);
  return UNTIL.find(([, until]) => days <= until)?.[0] ?? "later";
}

/** What is coming at every station, soonest first, with the span in which it probably falls. */
export function AheadScreen() {
  const { holding } = useHere();
  const stations = holding.stations.value;
  const coming = stations.flatMap((station) => (station.plan?.ahead ?? []).map((one) => ({ station, one })));
  // A routine look belongs to the round, which shows it.
  const jobs = stations.flatMap((station) =>
    (station.plan?.jobs ?? []).filter((job) => job.what !== "look_in").map((job) => ({ station, job })),
  );
  return (
    <>
      <Head title={t("app.ahead.title")}>
        <p class="soft">{t("app.ahead.about")}</p>
      </Head>
      <PlanAge />
      {WHENS.map((name) => (
        <Group
          key={name}
          title={t(`app.ahead.${name}`)}
          jobs={jobs.filter(({ job }) => when(job.due) === name)}
          coming={coming
            .filter(({ one }) => when(one.due) === name)
            .sort((one, other) => ((one.one.due ?? "") < (other.one.due ?? "") ? -1 : 1))}
        />
      ))}
    </>
  );
}

function Group({
  title,
  jobs,
  coming,
}: {
  title: string;
  jobs: readonly { station: Station; job: Job }[];
  coming: readonly { station: Station; one: Ahead }[];
}) {
  if (jobs.length + coming.length === 0) return null;
  return (
    <Part title={title}>
      {jobs.length > 0 && (
        <ul class="plain-list rows">
          {jobs.map(({ station, job }) => (
            <li key={job.id}>
              <a class="row" href={to("station", station.id)}>
                <span>
                  {jobWords(station, job)}
                  <small>
                    {station.name} · {dueWords(job.due)}
                  </small>
                </span>
              </a>
            </li>
          ))}
        </ul>
      )}
      {coming.map(({ station, one }) => (
        <AheadList key={`${station.id}${one.what}${one.side ?? ""}`} station={station} items={[one]} named />
      ))}
    </Part>
  );
}
