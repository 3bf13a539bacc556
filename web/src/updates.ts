import { signal } from "@preact/signals";

export type Updates = ReturnType<typeof openUpdates>;

/**
 * A new version of the app: its service worker waits until a person chooses to take it, then the page
 * loads anew. Until then the old version goes on whole.
 */
export function openUpdates(workers: ServiceWorkerContainer | undefined, reload: () => void) {
  const waiting = signal<ServiceWorker | null>(null);
  let chosen = false;

  function watch(registration: ServiceWorkerRegistration): void {
    if (registration.waiting && workers?.controller) waiting.value = registration.waiting;
    registration.addEventListener("updatefound", () => {
      const fresh = registration.installing;
      fresh?.addEventListener("statechange", () => {
        // With no controller this is the first install: there is nothing to replace.
        if (fresh.state === "installed" && workers?.controller) waiting.value = fresh;
      });
    });
  }

  workers?.addEventListener("controllerchange", () => {
    if (chosen) reload();
  });

  return {
    waiting,
    async register(url: string): Promise<void> {
      try {
        const registration = await workers?.register(url);
        if (registration) watch(registration);
      } catch {
        // Without a service worker (plain http on a local network) the app works while it has signal.
      }
    },
    take(): void {
      // Taken by another page of the app already: this one has only to load anew.
      if (waiting.value?.state !== "installed") reload();
      chosen = true;
      waiting.value?.postMessage({ type: "take-over" });
    },
    /** Ask whether there is a newer version; quietly nothing if nobody answers. */
    async look(): Promise<void> {
      const registration = await workers?.getRegistration();
      await registration?.update().catch(() => undefined);
    },
  };
}
