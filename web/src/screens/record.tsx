import { useEffect, useMemo } from "preact/hooks";
import { unsaved, useHere } from "../here";
import type { Station } from "../log/holding";
import { CautionList } from "../parts/jobs";
import { DONE_BY } from "../parts/layout";
import { Head } from "../parts/screen";
import { leave } from "../route";
import { t } from "../words/words";
import { Nowhere } from "./nowhere";
import { Before } from "./record/before";
import { Fields } from "./record/fields";
import { openForm } from "./record/form";
import { SaveBar } from "./record/save_bar";
import { SidePick } from "./record/side_pick";
import { WhenAndNote } from "./record/when_and_note";

/** One record at one station: filled with what was last seen, saved by one press. */
export function RecordScreen({ stationId, kind }: { stationId: string; kind: string }) {
  const { holding } = useHere();
  const station = holding.station(stationId);
  if (station === undefined || !holding.kindsFor(station.type).includes(kind)) return <Nowhere />;
  return <Record station={station} kind={kind} />;
}

/** The cautions of the jobs this record ends, each once. */
const cautionsFor = (station: Station, kind: string): readonly string[] => [
  ...new Set(
    (station.plan?.jobs ?? []).filter((job) => DONE_BY[job.what] === kind).flatMap((job) => job.cautions),
  ),
];

function Record({ station, kind }: { station: Station; kind: string }) {
  const here = useHere();
  const form = useMemo(() => openForm(here, station, kind), [station.id, kind]);
  useEffect(
    () => () => {
      unsaved.value = false;
    },
    [],
  );
  return (
    <form
      class="record"
      onSubmit={(event) => {
        event.preventDefault();
        void form.save().then((saved) => saved && leave(["station", station.id]));
      }}
    >
      <Head title={t(`app.kind.${kind}`)}>
        <p class="lead">{station.name}</p>
      </Head>
      {form.sided && <SidePick form={form} />}
      <Before form={form} />
      <Fields form={form} />
      <WhenAndNote form={form} />
      <CautionList station={station} keys={cautionsFor(station, kind)} />
      <SaveBar form={form} />
    </form>
  );
}
