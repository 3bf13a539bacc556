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

type Coming = { readonly station: Station; readonly due: string | null } & (
  | { readonly job: Job }
  | { readonly one: Ahead }
);

/** All that is coming at a station; what is foretold with its span is not told again as a job. */
function comingAt(station: Station): Coming[] {
  const ahead = station.plan?.ahead ?? [];
  const told = new Set(ahead.map((one) => one.what));
  // A routine look belongs to the round, which shows it.
  const jobs = (station.plan?.jobs ?? []).filter((job) => job.what !== "look_in" && !told.has(job.what));
  return [
    ...jobs.map((job) => ({ station, due: job.due, job })),
    ...ahead.map((one) => ({ station, due: one.due, one })),
  ];
}

const sooner = (one: Coming, other: Coming): number => (one.due ?? "9").localeCompare(other.due ?? "9");

/** What is coming at every station, soonest first, with the span in which it probably falls. */
export function AheadScreen() {
  const { holding } = useHere();
  const coming = holding.stations.value.flatMap(comingAt).sort(sooner);
  return (
    <>
      <Head title={t("app.ahead.title")}>
        <p class="soft">{t("app.ahead.about")}</p>
      </Head>
      <PlanAge />
      {WHENS.map((name) => (
        <Group key={name} name={name} coming={coming.filter((one) => when(one.due) === name)} />
      ))}
    </>
  );
}

function Group({ name, coming }: { name: When; coming: readonly Coming[] }) {
  if (coming.length === 0) return null;
  return (
    <Part title={t(`app.ahead.${name}`)}>
      <ul class="plain-list rows">
        {coming.map((one) =>
          "job" in one ? (
            <li key={one.job.id}>
              <a class="row" href={to("station", one.station.id)}>
                <span>
                  {jobWords(one.station, one.job)}
                  <small>
                    {one.station.name} · {dueWords(one.due)}
                  </small>
                </span>
              </a>
            </li>
          ) : (
            <li key={`${one.station.id}${one.one.what}${one.one.side ?? ""}`}>
              <AheadList station={one.station} items={[one.one]} named />
            </li>
          ),
        )}
      </ul>
    </Part>
  );
}
