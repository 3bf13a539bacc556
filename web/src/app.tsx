import { useComputed } from "@preact/signals";
import { useEffect, useLayoutEffect } from "preact/hooks";
import { shutOut } from "./access/me";
import { type Here, useHere } from "./here";
import { Brow } from "./parts/brow";
import { Foot } from "./parts/foot";
import { later } from "./parts/later";
import { SaidLine } from "./parts/said";
import { UpdateLine } from "./parts/update";
import { WalkDock } from "./parts/walk_dock";
import { WayIn } from "./parts/way_in";
import { route } from "./route";
import { LoadingScreen } from "./screens/loading";
import { RecordScreen } from "./screens/record";
import { RecordDock } from "./screens/record_dock";
import { RoundScreen } from "./screens/round";
import { StationScreen } from "./screens/station";
import { themeOf } from "./theme";
import { changeOver } from "./words/language";
import { locale } from "./words/words";

const AheadScreen = later(async () => (await import("./screens/ahead")).AheadScreen);
const BeginScreen = later(async () => (await import("./screens/begin")).BeginScreen);
const EntryScreen = later<{ id: string }>(async () => (await import("./screens/entry")).EntryScreen);
const PairScreen = later<{ linked?: string }>(async () => (await import("./screens/pair")).PairScreen);
const PlaceScreen = later<{ section: string }>(async () => (await import("./screens/place")).PlaceScreen);
const TallyScreen = later(async () => (await import("./screens/tally")).TallyScreen);
const DayScreen = later(async () => (await import("./screens/day")).DayScreen);
const BucketScreen = later(async () => (await import("./screens/bucket")).BucketScreen);
const CircleScreen = later(async () => (await import("./screens/circle")).CircleScreen);
const PondDayScreen = later<{ id: string }>(async () => (await import("./screens/pond_day")).PondDayScreen);
const RemindersScreen = later(async () => (await import("./screens/reminders")).RemindersScreen);
const AskScreen = later<{ id: string }>(async () => (await import("./screens/ask")).AskScreen);

/** The frame round every screen: where one is, how sync stands, and the way to the other screens. */
export function App() {
  const path = route.value.join("/");
  // Before the frame: after it, a screen would be seen where the last one was scrolled to.
  useLayoutEffect(() => scrollTo(0, 0), [path]);
  const { journal } = useHere();
  // Of all that is kept these two only: whatever else is put down must not draw the whole frame anew.
  const language = useComputed(() => journal.kept.value["language"]).value;
  useEffect(() => void changeOver(language), [language]);
  const theme = useComputed(() => themeOf(journal)).value;
  // In the frame of the press itself: a second one would reckon the style of the whole page twice.
  useLayoutEffect(() => {
    document.documentElement.dataset["theme"] = theme;
  }, [theme]);
  useLayoutEffect(() => {
    document.documentElement.lang = locale.value;
  }, [locale.value]);
  return (
    <div class="frame">
      <Brow />
      <main id="main" key={path}>
        <UpdateLine />
        <WayIn />
        <Screen />
      </main>
      <Base />
    </div>
  );
}

/** What stays at the lower edge; there is nowhere to go yet while the first call is under way. */
function Base() {
  if (firstCall(useHere())) return null;
  return (
    <div class="base">
      <SaidLine />
      <Dock />
      <Foot />
    </div>
  );
}

/** What lies under the thumb on this screen, above the way about. */
function Dock() {
  const { holding } = useHere();
  const [screen = "round", id = "", action] = route.value;
  if (screen === "round" && holding.stations.value.length > 0) return <WalkDock />;
  const station = screen === "station" && action === undefined ? holding.station(id) : undefined;
  return station ? <RecordDock station={station} /> : null;
}

/** What there is comes at once, with its figures: a place that came bit by bit would move under the thumb. */
const firstCall = ({ journal, holding }: Here): boolean =>
  journal.opening.value ||
  (holding.stations.value.length === 0 &&
    journal.syncedAt.value === null &&
    journal.sync.value.phase === "sending");

function Screen() {
  const here = useHere();
  const { journal, holding } = here;
  const [screen = "round", id = "", action, detail, job, side] = route.value;
  if (screen === "pair") return <PairScreen linked={id} />;
  if (screen === "place") return <PlaceScreen section={id} />;
  if (firstCall(here)) return <LoadingScreen />;
  if (holding.stations.value.length === 0) return shutOut(journal) ? <PairScreen /> : <BeginScreen />;
  if (screen === "station") {
    return action === "record" ? (
      <RecordScreen stationId={id} kind={detail ?? ""} begun={{ job, side }} />
    ) : (
      <StationScreen id={id} />
    );
  }
  if (screen === "entry") return <EntryScreen id={id} />;
  if (screen === "reminders") return <RemindersScreen />;
  if (screen === "day") return <DayScreen />;
  if (screen === "ask") return <AskScreen id={id} />;
  if (screen === "ahead") return <AheadScreen />;
  if (screen === "bucket") return <BucketScreen />;
  if (screen === "tally") return <TallyScreen />;
  if (screen === "circle") return <CircleScreen />;
  if (screen === "pond_day") return <PondDayScreen id={id} />;
  return <RoundScreen />;
}
