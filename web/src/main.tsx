import { render } from "preact";
import { followWho } from "./access/me";
import { App } from "./app";
import { startBadge } from "./badge";
import { startEarly } from "./core/early";
import { servicePlanner } from "./core/planner";
import { atRest, heardOut, startFold } from "./core/start_fold";
import { HereContext } from "./here";
import { openHolding } from "./log/holding";
import { httpWire, sendPhoto } from "./log/http";
import { openIndexed } from "./log/indexed";
import { openJournal } from "./log/journal";
import { openPhotos } from "./log/photos";
import { openReminders } from "./log/reminders";
import { inTurn } from "./log/turns";
import { painted } from "./painted";
import { fetchLater } from "./parts/later";
import { pause } from "./pause";
import "./style/tokens.css";
import "./style/languages.css";
import "./style/photos.css";
import "./style/base.css";
import "./style/parts.css";
import "./style/choosing.css";
import "./style/dials.css";
import "./style/shown.css";
import "./style/screens.css";
import "./style/round.css";
import "./style/recording.css";
import "./style/bucket.css";
import "./style/water.css";
import { Unopened } from "./screens/unopened";
import { startTriggers } from "./triggers";
import { openUpdates } from "./updates";
import { changeOver } from "./words/language";
import { doneBy } from "./words/reminded";

/** Have the tables of the language's signs read beside the page: its first screen says a day, and figures. */
const readSigns = () => new Worker(new URL("./words/signs_worker.ts", import.meta.url), { type: "module" });

async function start(root: HTMLElement): Promise<void> {
  readSigns();
  // Most people speak on this phone what they speak in all others: fetch that while the store opens.
  const words = changeOver(undefined);
  /** The store was written by another page while this one was still opening. */
  let missed = false;
  let again = (): unknown => {
    missed = true;
    return undefined;
  };
  const storage = await openIndexed("fallowside", () => again());
  const wire = httpWire();
  const tabs = new BroadcastChannel("fallowside");
  tabs.onmessage = () => again();
  const contents = await storage.load();
  // Beside the drawing, not beside the reading: a phone with few cores reads the slower for it.
  const early = startEarly(__FOLD__.key);
  await words;
  await changeOver(contents.kept["language"]);
  const journal = openJournal(contents, {
    storage,
    wire,
    planner: servicePlanner(wire),
    now: () => new Date(),
    // Whoever saved something sees it said before the first of it is sent.
    exclusive: (work) => painted().then(() => inTurn(navigator.locks)(work)),
    tell: () => tabs.postMessage("changed"),
  });
  again = () => void journal.reload();
  if (missed) again();
  const photos = openPhotos(sendPhoto);
  const updates = openUpdates(navigator.serviceWorker, () => location.reload());
  startTriggers(journal, updates, photos);
  void atRest(journal).then(fetchLater);
  // What was asked of the service is on its way: the screen is drawn in a turn of its own.
  await pause();
  const here = { journal, holding: openHolding(journal), photos, updates, fold: startFold(journal, early) };
  render(
    <HereContext.Provider value={here}>
      <App />
    </HereContext.Provider>,
    root,
  );
  await pause();
  startBadge(openReminders(journal, doneBy));
  followWho(journal);
  // All the app's files come with it: not while a first visit waits for its log and its plan.
  await heardOut(journal);
  if (import.meta.env.PROD) await updates.register("/sw.js");
}

const root = document.getElementById("app");
if (root) {
  start(root).catch(async (error: unknown) => {
    await changeOver(undefined);
    render(<Unopened error={error} />, root);
  });
}
