import { useEffect, useMemo } from "preact/hooks";
import { said, unsaved, useHere } from "../here";
import type { Station } from "../log/holding";
import { CautionList } from "../parts/jobs";
import { DONE_BY } from "../parts/layout";
import { Head } from "../parts/screen";
import { leave } from "../route";
import { leftWords } from "../words/planned";
import { t } from "../words/words";
import { Nowhere } from "./nowhere";
import { Fields } from "./record/fields";
import { type Begun, openForm } from "./record/form";
import { Ready } from "./record/ready";
import { SaveBar } from "./record/save_bar";
import { SidePick } from "./record/side_pick";
import { WhenAndNote } from "./record/when_and_note";

/** One record at one station: filled with what was last seen, saved by one press. */
export function RecordScreen({ stationId, kind, begun }: { stationId: string; kind: string; begun: Begun }) {
  const { holding } = useHere();
  const station = holding.station(stationId);
  if (station === undefined || !holding.kindsFor(station.type).includes(kind)) return <Nowhere />;
  return <Record station={station} kind={kind} begun={begun} />;
}

/** The cautions of the jobs this record ends, each once. */
const cautionsFor = (station: Station, kind: string): readonly string[] => [
  ...new Set(
    (station.plan?.jobs ?? []).filter((job) => DONE_BY[job.what] === kind).flatMap((job) => job.cautions),
  ),
];

function Record({ station, kind, begun }: { station: Station; kind: string; begun: Begun }) {
  const here = useHere();
  const form = useMemo(() => openForm(here, station, kind, begun), [station.id, kind]);
  useEffect(() => {
    // Its way back would lie over the press that saves, and be pressed in its place.
    said.value = null;
    return () => {
      unsaved.value = false;
    };
  }, []);
  const ration = kind === "feed" ? station.plan?.ration : null;
  const from = location.hash;
  const done = () => leave(["station", station.id], from);
  return (
    <form
      class="record at-the-bin"
      onSubmit={(event) => {
        event.preventDefault();
        void form.save().then((saved) => saved && done());
      }}
    >
      <Head title={t(`app.kind.${kind}`)}>
        <p>{station.name}</p>
        {ration && <p class="ration-left">{leftWords(form.left() ?? ration.kg)}</p>}
      </Head>
      {form.sided && <SidePick form={form} />}
      <Ready form={form} done={done} />
      <Fields form={form} />
      <WhenAndNote form={form} />
      <CautionList station={station} keys={cautionsFor(station, kind)} />
      <SaveBar form={form} />
    </form>
  );
}
