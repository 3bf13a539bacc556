import { useHere } from "../here";
import type { Station } from "../log/holding";
import { lastSeen } from "../log/seen";
import { AheadList } from "../parts/ahead_list";
import { Away } from "../parts/away";
import { Cut } from "../parts/cut";
import { Jobs } from "../parts/jobs";
import { LogNext } from "../parts/log_next";
import { PlanAge } from "../parts/plan_age";
import { Questions } from "../parts/questions";
import { RationPart } from "../parts/ration";
import { Recent, toRecent } from "../parts/recent";
import { Rest } from "../parts/rest";
import { Head, Part } from "../parts/screen";
import { SeriesPart } from "../parts/series";
import { Shoals } from "../parts/shoals";
import { SidesTable } from "../parts/sides_table";
import { Stack } from "../parts/stack";
import { StateList } from "../parts/state_list";
import { Turn } from "../parts/turn";
import { Warnings } from "../parts/warnings";
import { ago, t } from "../words/words";
import { Nowhere } from "./nowhere";

/** One station: what it needs now, what to record, what is coming, and how that was reckoned. */
export function StationScreen({ id }: { id: string }) {
  const { holding } = useHere();
  const station = holding.station(id);
  if (station === undefined) return <Nowhere />;
  const plan = station.plan;
  return (
    <>
      <Head title={station.name}>
        <Seen station={station} />
      </Head>
      <Cut station={station} />
      <PlanAge />
      <Warnings station={station} />
      <Questions station={id} />
      {plan?.ration && <RationPart station={station} ration={plan.ration} />}
      <Rest>
        <Turn station={station} />
        <Jobs station={station} />
        {plan && plan.ahead.length > 0 && (
          <Part title={t("app.station.ahead")}>
            <AheadList station={station} items={plan.ahead} />
          </Part>
        )}
        <Shoals station={station} />
        <Stack station={station} />
        <LogNext station={station} />
        <SidesTable station={station} />
        <StateList station={station} />
        <Away station={station} />
        <SeriesPart station={station} />
        <Recent station={station} />
      </Rest>
    </>
  );
}

function Seen({ station }: { station: Station }) {
  const { journal, holding } = useHere();
  const seen = lastSeen(journal.entries.value, station);
  const by = seen?.by ?? "";
  const name = holding.people.value.find((one) => one.id === by)?.name ?? by;
  return (
    <p class="soft seen">
      <span>
        {seen
          ? t("app.round.seen", { ago: ago(seen.at), by: name, who: name ? "named" : "other" })
          : t("app.round.never_seen")}
      </span>
      {journal.entries.value.some((entry) => entry.station === station.id) && (
        <button type="button" class="why" onClick={toRecent}>
          {t("app.station.recent")}
        </button>
      )}
    </p>
  );
}
