import type { Plan, Route, Tally } from "../generated/shapes";
import { pause } from "../pause";
import { isObject } from "./entry";
import type { Sent } from "./photos";
import type { Incoming, Reply, Wire } from "./wire";

/** A call that hears nothing for this long counts as 'nobody there'; `navigator.onLine` is not asked. */
const PATIENCE_MS = 20_000;
/** A photo goes up without a sound: its 300 kB take this long at 20 kbit/s. */
const PHOTO_PATIENCE_MS = 120_000;
/** The service will not take this photo, however often it is sent. */
const NEVER: ReadonlySet<number> = new Set([413, 422]);
/** A proxy before the service may say so too, in words of its own. */
const TOO_LARGE = 413;
/** Below this many characters packing costs more than it saves. */
const WORTH_PACKING = 1_000;

export function httpWire(base = "/api"): Wire {
  return {
    sync: async (call) => ask<Incoming>(`${base}/sync`, await posted(JSON.stringify(call))),
    plan: () => ask<Plan>(`${base}/plan`, {}),
    tally: (since, until) =>
      ask<Tally>(`${base}/tally?${new URLSearchParams({ from: since, to: until })}`, {}),
    route: async (bucket) => ask<Route>(`${base}/route`, await posted(JSON.stringify({ bucket }))),
    drop: (id) => ask(`${base}/held/${encodeURIComponent(id)}/drop`, { method: "POST" }),
  };
}

/** Ask the service something small. */
export const get = <T>(url: string): Promise<Reply<T>> => ask<T>(url, {});
/** Send a photo whole. A sign-in that is missing or a service that is full can be mended: it waits. */
export async function sendPhoto(name: string, body: ArrayBuffer): Promise<Sent> {
  try {
    const response = await fetch(`/api/photos/${name}`, {
      method: "PUT",
      body,
      signal: AbortSignal.timeout(PHOTO_PATIENCE_MS),
    });
    if (response.ok) return "stored";
    return NEVER.has(response.status) ? "refused" : "unreachable";
  } catch {
    return "unreachable";
  }
}

/** Tell the service something small, and hear what it says to it. */
export async function post<T>(url: string, body: unknown): Promise<Reply<T>> {
  return ask<T>(url, await posted(JSON.stringify(body)));
}

/** Ask the service; what it can't answer is told apart from nobody being there. */
export async function ask<T>(url: string, init: RequestInit): Promise<Reply<T>> {
  const patience = waiting();
  try {
    const response = await fetch(url, { ...init, cache: "no-store", signal: patience.signal });
    const body: unknown = await heard(response, patience.again)
      .json()
      .catch(() => undefined);
    // Reading a year's log and taking it in, each in a turn of its own: a touch between them is answered.
    await pause();
    if (response.ok && isObject(body)) return { type: "answer", body: body as T };
    // A proxy's page with status 200, or a service that is starting: nobody of ours is there.
    if (response.ok || response.status >= 500) return { type: "unreachable" };
    const { code, detail } = isObject(body) ? body : {};
    // A way into a network, or a proxy, says no without a code of ours: the service has not been asked.
    if (typeof code !== "string" && response.status !== TOO_LARGE) return { type: "unreachable" };
    return {
      type: "refused",
      status: response.status,
      code: typeof code === "string" ? code : "too_large",
      detail: typeof detail === "string" ? detail : response.statusText,
    };
  } catch {
    return { type: "unreachable" };
  } finally {
    patience.over();
  }
}

/** Gives up when nothing was heard for a while; a long answer on a slow line may take its time. */
function waiting() {
  const given = new AbortController();
  let timer: ReturnType<typeof setTimeout> | undefined;
  const again = () => {
    clearTimeout(timer);
    timer = setTimeout(() => given.abort(), PATIENCE_MS);
  };
  again();
  return { signal: given.signal, again, over: () => clearTimeout(timer) };
}

/** The same answer, with a word for each piece of it that comes. */
function heard(response: Response, told: () => void): Response {
  told();
  const pieces = new TransformStream<Uint8Array<ArrayBuffer>, Uint8Array<ArrayBuffer>>({
    transform(piece, onwards) {
      told();
      onwards.enqueue(piece);
    },
  });
  return new Response(response.body?.pipeThrough(pieces) ?? null);
}

async function posted(text: string): Promise<RequestInit> {
  const headers: Record<string, string> = { "Content-Type": "application/json" };
  if (text.length < WORTH_PACKING || typeof CompressionStream === "undefined") {
    return { method: "POST", headers, body: text };
  }
  headers["Content-Encoding"] = "gzip";
  const packed = new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"));
  return { method: "POST", headers, body: await new Response(packed).blob() };
}
