import type { Journal } from "../log/journal";
import { type Early, makeWorker, signEarly } from "./early";
import { FILES_CACHE } from "./files";
import { type Fold, openFold } from "./fold";

/** A choice made on this phone; for `auto`, as without one, the browser's wish to save data decides. */
export type FoldChoice = "auto" | "on" | "off";
type Network = { readonly connection?: { readonly saveData?: boolean } };

/** A plan this old is made anew when somebody looks and nobody else makes one. */
const OLD_MS = 600_000;
/** The worker waits for a quiet moment, but not for ever. */
const REST_MS = 5_000;

/**
 * Run the fold beside the app, while it is seen and where it is wanted: at once if all of it is on the
 * phone, else when the app is at rest and its files may be fetched.
 */
export function startFold(journal: Journal, early: Early | null): Fold {
  const fold = openFold({
    journal,
    key: __FOLD__.key,
    makeWorker,
    early,
    sign: (may) => signEarly(may ? __FOLD__.key : null),
    dropFiles: async () => globalThis.caches?.delete(FILES_CACHE),
    now: () => new Date(),
  });

  async function begin(): Promise<void> {
    if (document.visibilityState !== "visible") return;
    const choice = journal.kept.peek()["fold"] as FoldChoice | undefined;
    const sparing = (navigator as Network).connection?.saveData === true;
    if (choice === "off") {
      signEarly(null);
      return fold.end({ phase: "off", why: "chosen" });
    }
    if (choice !== "on" && sparing && !(await filesHere()))
      return fold.end({ phase: "off", why: "save_data" });
    fold.begin();
  }

  void (early === null ? ready(journal) : Promise.resolve()).then(() => {
    let chosen = journal.kept.peek()["fold"];
    void begin();
    journal.watch(() => {
      const choice = journal.kept.value["fold"];
      if (choice === chosen) return;
      chosen = choice;
      void begin();
    });
    // Whatever changes what a plan would be made from, or which one is shown.
    journal.watch(() => {
      void [journal.coming.value, journal.stale.value, journal.known.value];
      void [journal.whole.value, journal.plan.value];
      fold.consider(Number.POSITIVE_INFINITY);
    });
    journal.watch(() => {
      const { phase } = journal.sync.value;
      if (phase === "waiting") fold.consider(OLD_MS);
      else if (phase === "idle" && fold.state.peek().phase === "unfetched") void begin();
    });
    document.addEventListener("visibilitychange", () => {
      void begin();
      fold.consider(OLD_MS);
    });
    setInterval(() => fold.consider(OLD_MS), OLD_MS);
  });
  return fold;
}

/** Are all files of the worker on the phone? */
export async function filesHere(): Promise<boolean> {
  if (!globalThis.caches || !(await caches.has(FILES_CACHE))) return false;
  const kept = await caches.open(FILES_CACHE);
  const there = await Promise.all(__FOLD__.all.map((path) => kept.match(path)));
  return there.every((reply) => reply !== undefined);
}

async function ready(journal: Journal): Promise<void> {
  const here = navigator.serviceWorker?.controller && (await filesHere());
  if (!here) await atRest(journal);
}

const rest = (ms: number) => new Promise<void>((done) => setTimeout(done, ms));

/** Wait until the first sync has ended and the first plan is there, but not for long. */
export async function heardOut(journal: Journal): Promise<void> {
  const heard = new Promise<void>((done) => {
    const stop = journal.watch(() => {
      if (journal.sync.value.phase !== "sending" && !journal.opening.value) done();
    });
    void rest(REST_MS).then(stop);
  });
  await Promise.race([heard, rest(REST_MS)]);
}

/** Wait until the service was heard out, the service worker stands by, and the page has nothing to do. */
export async function atRest(journal: Journal): Promise<void> {
  await heardOut(journal);
  await Promise.race([controlled(), rest(REST_MS)]);
  if (typeof requestIdleCallback !== "function") await rest(REST_MS / 10);
  else await new Promise<void>((done) => requestIdleCallback(() => done(), { timeout: REST_MS }));
}

/** Files fetched before the service worker has the page would not be kept. */
async function controlled(): Promise<void> {
  const workers = navigator.serviceWorker;
  if (!import.meta.env.PROD || !workers || workers.controller) return;
  await new Promise((done) => workers.addEventListener("controllerchange", done, { once: true }));
}
