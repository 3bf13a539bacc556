import { FILES_CACHE } from "./files";
import { type Interpreter, startPlain, startRestored } from "./interpreter";
import { forgetMemory, keepMemory, keptMemory, type Memory, markOf } from "./memory";
import type { Asked, Told } from "./messages";

/*
 * The fold beside the page: one interpreter with one log, which answers in the order it was asked.
 * Nothing here touches the page's own thread.
 */
declare const self: DedicatedWorkerGlobalScope;

let fold: Interpreter | null = null;
/** Taken at a plain start, kept once the first plan is out of the way. */
let fresh: Memory | null = null;

const tell = (told: Told) => self.postMessage(told);
const words = (error: unknown) => (error instanceof Error ? error.message.trim() : String(error));

self.onmessage = ({ data }: MessageEvent<Asked>) => {
  if (data.type === "open") void open(data.restore, data.life);
  else answer(data);
};

async function open(restore: boolean, life: string): Promise<void> {
  // Held as long as the worker lives: whoever waits for this lock learns of its end.
  void navigator.locks?.request(life, () => new Promise(() => undefined));
  const start = performance.now();
  try {
    if (!(await fetched())) return tell({ type: "unfetched" });
    fold = restore ? await restored() : null;
    const boot = fold ? "restored" : "plain";
    fold ??= await plain();
    tell({ type: "opened", boot, ms: performance.now() - start });
  } catch (error) {
    tell({ type: "broken", detail: words(error) });
  }
}

/** See that all files are on the phone, by way of the service worker, which keeps them. */
async function fetched(): Promise<boolean> {
  const kept = globalThis.caches ? await caches.open(FILES_CACHE) : null;
  const there = await Promise.all(__FOLD__.all.map((path) => kept?.match(path)));
  const missing = __FOLD__.all.filter((_, index) => there[index] === undefined);
  if (missing.length === 0) return true;
  tell({ type: "fetching" });
  try {
    const replies = await Promise.all(missing.map((path) => fetch(path)));
    await Promise.all(replies.map((reply) => reply.arrayBuffer()));
    return replies.every((reply) => reply.ok);
  } catch {
    return false;
  }
}

async function restored(): Promise<Interpreter | null> {
  try {
    const memory = await keptMemory(__FOLD__.key);
    if (memory === null) return null;
    const made = await startRestored(__FOLD__, memory.bytes);
    if ((await markOf(made.trial())) === memory.trial) return made;
  } catch {
    // Damaged, or of an interpreter that can't take it back: a plain start needs none of it.
  }
  await forgetMemory();
  return null;
}

async function plain(): Promise<Interpreter> {
  const started = await startPlain(__FOLD__);
  if (globalThis.caches) {
    fresh = { bytes: started.memory, trial: await markOf(started.fold.trial()) };
  }
  return started.fold;
}

function answer(asked: Exclude<Asked, { type: "open" }>): void {
  if (fold === null) return;
  try {
    if (asked.type === "forget") fold.forget();
    else if (asked.type === "take") fold.take(asked.text);
    else plan(fold, asked.ask, asked.at);
  } catch (error) {
    tell({ type: "broken", detail: words(error) });
  }
}

function plan(made: Interpreter, ask: number, at: string): void {
  const start = performance.now();
  try {
    tell({ type: "planned", ask, text: made.plan(at), ms: performance.now() - start });
  } catch (error) {
    // Python said no, and is ready for the next question; anything else is the end of the interpreter.
    if ((error as { type?: unknown }).type === undefined) throw error;
    tell({ type: "unplanned", ask, detail: words(error) });
  }
  void keepFresh();
}

async function keepFresh(): Promise<void> {
  if (fresh === null) return;
  const memory = fresh;
  fresh = null;
  const start = performance.now();
  try {
    const bytes = await keepMemory(__FOLD__.key, memory);
    tell({ type: "kept", bytes, ms: performance.now() - start });
  } catch {
    // No room for it: the next start is a plain one again.
  }
}
