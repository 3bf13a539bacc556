import { effect } from "@preact/signals";
import { said } from "./here";
import type { Journal } from "./log/journal";
import type { Photos } from "./log/photos";
import type { Updates } from "./updates";

/** Registers a wake-up for the service worker where the browser has such a thing; never needed. */
type BackgroundSync = { readonly sync?: { register(tag: string): Promise<void> } };

/** A plan this old is asked for again when somebody looks at the app, even with nothing to send. */
const LOOK_AGAIN_MS = 600_000;

/** What sets off a sync: start, signal, return to the foreground, the service worker. */
export function startTriggers(journal: Journal, updates: Updates, photos: Photos): void {
  journal.nudge("start");
  addEventListener("online", () => journal.nudge("online"));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible") return;
    journal.nudge("foreground");
    void updates.look();
  });
  navigator.serviceWorker?.addEventListener("message", (event) => {
    const told = event.data as { type?: string; path?: string } | null;
    if (told?.type === "sync") journal.nudge("background");
    if (told?.type === "open" && told.path?.startsWith("#/")) location.hash = told.path;
  });
  setInterval(() => {
    if (document.visibilityState === "visible") journal.nudge("timer");
  }, LOOK_AGAIN_MS);
  // Something could not be written to the phone: it must not look as if it had been.
  addEventListener("unhandledrejection", () => {
    said.value = { key: "app.not_saved" };
  });
  // An app on the home screen holds what nobody else may have yet: ask that it be kept.
  if (matchMedia("(display-mode: standalone)").matches) void navigator.storage?.persist();
  // Photos follow what speaks of them, whenever the service has answered.
  effect(() => {
    if (journal.syncedAt.value === null) return;
    void photos.send(String(journal.kept.peek()["otherLogSince"] ?? ""));
  });
  // Once until the service has answered: where there is signal but no service, the browser fires at once,
  // and a try that failed would ask for the next one without any wait.
  let asked = false;
  effect(() => {
    const { phase } = journal.sync.value;
    if (phase === "idle") asked = false;
    if (asked || phase !== "waiting" || journal.unsent.value.length === 0) return;
    asked = true;
    void inBackground();
  });
}

async function inBackground(): Promise<void> {
  try {
    const registration = (await navigator.serviceWorker?.ready) as unknown as BackgroundSync;
    await registration?.sync?.register("outbox");
  } catch {
    // Not allowed here: the page goes on trying by itself while it is open.
  }
}
