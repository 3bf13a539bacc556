import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";

declare const self: ServiceWorkerGlobalScope;

cleanupOutdatedCaches();
precacheAndRoute(self.__WB_MANIFEST);
registerRoute(new NavigationRoute(createHandlerBoundToURL("/index.html"), { denylist: [/^\/api\//] }));

// The very first worker may serve the page that registered it; later ones wait to be chosen.
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("message", (event) => {
  if ((event.data as { type?: string } | null)?.type === "take-over") void self.skipWaiting();
});

// An extra where there is Background Sync: ask an open page to send. The page never needs it.
self.addEventListener("sync", (event) => {
  const { tag, waitUntil } = event as Event & { tag: string; waitUntil(done: Promise<unknown>): void };
  if (tag === "outbox") waitUntil.call(event, nudgePages());
});

async function nudgePages(): Promise<void> {
  for (const page of await self.clients.matchAll({ type: "window" })) {
    page.postMessage({ type: "sync" });
  }
}
