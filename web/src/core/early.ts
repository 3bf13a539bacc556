import type { Asked, Told } from "./messages";

/** A worker that was started before the page was drawn, and what it has told since. */
export type Early = { readonly worker: Worker; readonly life: string; readonly told: readonly Told[] };

/** Holds the version whose worker has started from a kept memory here; read without waiting for a store. */
const SIGN = "fallowside-fold";

export const makeWorker = (): Worker =>
  new Worker(new URL("./fold_worker.ts", import.meta.url), { type: "module", name: "fold" });

/** Names a lock that is the worker's own. */
export const lifeOf = (): string => `fallowside-fold-${crypto.randomUUID()}`;

/** Start the worker beside the first drawing, where all it needs is on the phone and it was wanted before. */
export function startEarly(key: string): Early | null {
  // Only a page that a service worker serves has its files; and to ask for the sign may take a while.
  if (!navigator.serviceWorker?.controller || document.visibilityState !== "visible") return null;
  if (sign() !== key) return null;
  const worker = makeWorker();
  const life = lifeOf();
  const told: Told[] = [];
  worker.onmessage = ({ data }: MessageEvent<Told>) => told.push(data);
  worker.onerror = (event) => told.push({ type: "broken", detail: event.message || "error" });
  worker.postMessage({ type: "open", restore: true, life } satisfies Asked);
  return { worker, life, told };
}

/** Remember for the next start of the page whether to start the worker early. */
export function signEarly(key: string | null): void {
  try {
    if (key === null) localStorage.removeItem(SIGN);
    else localStorage.setItem(SIGN, key);
  } catch {
    // Not allowed here: the worker starts with the rest.
  }
}

function sign(): string | null {
  try {
    return localStorage.getItem(SIGN);
  } catch {
    return null;
  }
}
