import { FILES_CACHE } from "./files";
import { type Interpreter, startPlain, startRestored } from "./interpreter";
import { forgetMemory, keepMemory, keptMemory } from "./memory";
import type { Asked, Told } from "./messages";

/*
 * The fold beside the page: one interpreter with one log, which answers in the order it was asked.
 * Nothing here touches the page's own thread.
 */
declare const self: DedicatedWorkerGlobalScope;

let fold: Interpreter | null = null;

const tell = (told: Told) => self.postMessage(told);
const words = (error: unknown) => (error instanceof Error ? error.message.trim() : String(error));

self.onmessage = async ({ data }: MessageEvent<Asked>) => {
  try {
    if (data.type === "open") await open(data.restore, data.life);
    else if (fold !== null) await answer(fold, data);
  } catch (error) {
    tell({ type: "broken", detail: words(error) });
  }
};

async function open(restore: boolean, life: string): Promise<void> {
  // Held as long as the worker lives: whoever waits for this lock learns of its end.
  void navigator.locks?.request(life, () => new Promise(() => undefined));
  const start = performance.now();
  const there = restore ? await restored() : null;
  if (there === null && !(await fetched())) return tell({ type: "unfetched" });
  fold = there?.fold ?? (await startPlain(__FOLD__));
  const ms = performance.now() - start;
  tell({
    type: "opened",
    boot: there ? "restored" : "plain",
    ms,
    holds: fold.taken(),
    loose: there?.loose ?? "[]",
  });
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

async function restored(): Promise<{ fold: Interpreter; loose: string } | null> {
  try {
    const memory = await keptMemory(__FOLD__.key);
    if (memory === null) return null;
    const made = await startRestored(__FOLD__, memory);
    if (made !== null) return made;
  } catch {
    // Damaged, or of an interpreter that can't take it back: a plain start needs none of it.
  }
  await forgetMemory();
  return null;
}

function answer(made: Interpreter, asked: Exclude<Asked, { type: "open" }>): void | Promise<void> {
  if (asked.type === "forget") made.forget();
  else if (asked.type === "take") made.take(asked.text);
  else if (asked.type === "plan") plan(made, asked.ask, asked.at);
  else if (asked.type === "question") question(made, asked);
  else return keep(made, asked.loose);
}

function plan(made: Interpreter, ask: number, at: string): void {
  const start = performance.now();
  try {
    tell({ type: "planned", ask, text: made.plan(at), ms: performance.now() - start });
  } catch (error) {
    if (!isPythons(error)) throw error;
    tell({ type: "unplanned", ask, detail: words(error) });
  }
}

function question(made: Interpreter, { ask, name, text, at }: Extract<Asked, { type: "question" }>): void {
  let said: string | null = null;
  try {
    said = made.answer(name, text, at);
  } catch (error) {
    if (!isPythons(error)) throw error;
  }
  tell({ type: "answered", ask, text: said });
}

/** Python said no, and is ready for the next question; anything else is the end of the interpreter. */
const isPythons = (error: unknown): boolean => (error as { type?: unknown }).type !== undefined;

async function keep(made: Interpreter, loose: string): Promise<void> {
  const start = performance.now();
  let bytes = 0;
  try {
    const trial = made.trial();
    bytes = await keepMemory(__FOLD__.key, made.memory(), { trial, loose });
  } catch {
    // No room for it, or no way to take it: the next start is a plain one.
    await forgetMemory().catch(() => undefined);
  }
  tell({ type: "kept", bytes, ms: performance.now() - start });
}
