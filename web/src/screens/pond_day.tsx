import type { PondDay, PreserveState } from "../generated/watershapes";
import { useHere } from "../here";
import { PlanAge } from "../parts/plan_age";
import { Head } from "../parts/screen";
import { Warnings } from "../parts/warnings";
import { t } from "../words/words";
import { Nowhere } from "./nowhere";
import { BathPart } from "./pond_day/bath_part";
import { CatchPart } from "./pond_day/catch_part";
import { PreservePart } from "./pond_day/preserve_part";
import { StepsPart } from "./pond_day/steps_part";

/** The day of a catch, from the plan of it to the last scrap. */
export function PondDayScreen({ id }: { id: string }) {
  const { holding } = useHere();
  const station = holding.station(id);
  if (station === undefined || station.type !== "pond") return <Nowhere />;
  const day = station.plan?.state["day"] as PondDay | undefined;
  const batches = (station.plan?.state["preserve"] ?? []) as readonly PreserveState[];
  return (
    <>
      <Head title={t("app.pond_day.title")}>
        <p class="lead">{station.name}</p>
        <p class="soft">{t("app.pond_day.about")}</p>
      </Head>
      <PlanAge />
      <Warnings station={station} brief />
      <CatchPart station={station} day={day} />
      {day && <StepsPart station={station} steps={day.steps} />}
      {day && <BathPart station={station} bath={day.bath} />}
      <PreservePart station={station} batches={batches} />
    </>
  );
}
