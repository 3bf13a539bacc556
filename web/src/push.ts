import { get, post } from "./log/http";
import type { Reply } from "./log/wire";

/** Whether this browser can take messages, may, and does. */
export type PushState = "unsupported" | "unoffered" | "denied" | "off" | "on" | "unreachable";

type OwnKey = { readonly key: string | null };

const URL = "/api/push";

export async function pushState(): Promise<PushState> {
  if (!("PushManager" in globalThis) || !navigator.serviceWorker) return "unsupported";
  const registration = await navigator.serviceWorker.getRegistration();
  if (registration === undefined) return "unsupported";
  if (Notification.permission === "denied") return "denied";
  if ((await registration.pushManager.getSubscription()) !== null) return "on";
  const reply = await get<OwnKey>(URL);
  if (reply.type === "unreachable") return "unreachable";
  return reply.type === "answer" && reply.body.key !== null ? "off" : "unoffered";
}

/** Let the service send messages to this browser; asks the person first. */
export async function turnOn(person: unknown, language: string): Promise<Reply<unknown>> {
  const reply = await get<OwnKey>(URL);
  if (reply.type !== "answer" || reply.body.key === null) return reply;
  if ((await Notification.requestPermission()) !== "granted") return reply;
  const registration = await navigator.serviceWorker.ready;
  const made = await registration.pushManager.subscribe({
    userVisibleOnly: true,
    applicationServerKey: reply.body.key,
  });
  const { endpoint, keys } = made.toJSON();
  const whose = typeof person === "string" ? { person } : {};
  const told = await post<unknown>(URL, { endpoint, keys, language, ...whose });
  // What the service doesn't know of must not look as if it were on.
  if (told.type !== "answer") await made.unsubscribe();
  return told;
}

export async function turnOff(): Promise<void> {
  const registration = await navigator.serviceWorker.getRegistration();
  const made = await registration?.pushManager.getSubscription();
  if (!made) return;
  await made.unsubscribe();
  await post<unknown>(`${URL}/end`, { endpoint: made.endpoint });
}
