import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";
import { CacheFirst } from "workbox-strategies";
import { dropOldFiles, FILES_CACHE, renewFiles } from "./core/files";

declare const self: ServiceWorkerGlobalScope;

cleanupOutdatedCaches();
precacheAndRoute(self.__WB_MANIFEST);
registerRoute(new NavigationRoute(createHandlerBoundToURL("/index.html"), { denylist: [/^\/api\//] }));

// The fold's own files come when the app is at rest, into a cache of their own.
registerRoute(({ url }) => __FOLD__.all.includes(url.pathname), new CacheFirst({ cacheName: FILES_CACHE }));
self.addEventListener("install", (event) => event.waitUntil(renewFiles(__FOLD__)));

// The very first worker may serve the page that registered it; later ones wait to be chosen.
self.addEventListener("activate", (event) =>
  event.waitUntil(Promise.all([self.clients.claim(), dropOldFiles(__FOLD__)])),
);
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

/** A message of the service: what is due, in words, and the screen that shows it. */
type Message = {
  readonly title: string;
  readonly body: string;
  readonly count: number;
  readonly path: string;
};

self.addEventListener("push", (event) => event.waitUntil(showMessage(event.data)));

async function showMessage(data: PushMessageData | null): Promise<void> {
  if (data === null) return;
  const { title, body, count, path } = data.json() as Message;
  // One tag: a newer message takes the place of the one before it.
  await self.registration.showNotification(title, {
    body,
    tag: "reminders",
    icon: "/icon-192.png",
    data: { path },
  });
  await (navigator as Navigator & { setAppBadge?(count: number): Promise<void> }).setAppBadge?.(count);
}

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(openScreen(String((event.notification.data as { path?: string } | null)?.path ?? "")));
});

async function openScreen(path: string): Promise<void> {
  const [page] = await self.clients.matchAll({ type: "window" });
  if (page === undefined) {
    await self.clients.openWindow(`/${path}`);
    return;
  }
  page.postMessage({ type: "open", path });
  await page.focus();
}
