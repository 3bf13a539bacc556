import { loadPyodide, type PyodideAPI } from "pyodide";
import type { FoldFiles } from "./files";
import type { Content, Memory } from "./memory";

/** A started interpreter that holds one log. */
export type Interpreter = {
  forget(): void;
  take(text: string): void;
  /** The ids of the entries it holds, one a line. */
  taken(): string;
  plan(at: string): string;
  answer(name: string, text: string, at: string): string;
  /** Plan the known small log. */
  trial(): string;
  /** All of its memory, the log with it, to start from another time. */
  memory(): Uint8Array;
};

/** Bytes of Python's, to be let go when they were read. */
type Bytes = { getBuffer(): { readonly data: Uint8Array; release(): void }; destroy(): void };
/** The worker's own Python, `fold.py`, as it is seen from here. */
type Module = Omit<Interpreter, "memory" | "plan"> & { plan(at: string): Bytes };

/*
 * Two of the options and two functions are marked private by the package: they take and restore the
 * whole memory of the interpreter. The package is pinned, a memory is kept under the key of all that
 * made it and tried on a known log before it is trusted, and a plain start is always behind it.
 */
type Started = PyodideAPI & { makeMemorySnapshot(): Uint8Array };
type Wasm = { readonly HEAP8: Int8Array; _emscripten_resize_heap(bytes: number): boolean };
type CreateWasm = (settings: object) => Promise<Wasm>;

/** Start; a memory is read and laid out while everything else is made ready. */
async function start(files: FoldFiles, memory: Memory | null, content?: Promise<Content>): Promise<Started> {
  const script = import(/* @vite-ignore */ `${files.runtime}pyodide.asm.mjs`) as Promise<{
    default: CreateWasm;
  }>;
  const bytes = new Uint8Array(memory?.length ?? 0);
  const options = {
    indexURL: files.runtime,
    stdLibURL: files.standard,
    lockFileContents: files.lock,
    // Nothing is read from a console, and what Python prints is for nobody.
    stdin: () => null,
    stdout: () => undefined,
    _makeSnapshot: true,
    ...(memory && { _loadSnapshot: bytes }),
    async createPyodideModule(settings: object) {
      const created = (await script).default(settings);
      (await content)?.put(bytes);
      const wasm = await created;
      // A memory that has grown is taken back only by one that is as large.
      if (wasm.HEAP8.length < bytes.length) wasm._emscripten_resize_heap(bytes.length);
      return wasm;
    },
  };
  return (await loadPyodide(options as object)) as Started;
}

function interpreter(python: Started): Interpreter {
  const { forget, take, taken, plan, answer, trial } = python.pyimport("fold") as Module;
  return {
    forget,
    take,
    taken,
    plan: (at) => read(plan(at)),
    answer,
    trial,
    memory: () => python.makeMemorySnapshot(),
  };
}

/** Read a long text all at once: a string of Python's would come over letter by letter. */
function read(bytes: Bytes): string {
  const buffer = bytes.getBuffer();
  const text = new TextDecoder().decode(buffer.data);
  buffer.release();
  bytes.destroy();
  return text;
}

/** Start from nothing, with an empty log. */
export async function startPlain(files: FoldFiles): Promise<Interpreter> {
  const core = fetch(files.core);
  const python = await start(files, null);
  python.unpackArchive(await (await core).arrayBuffer(), "zip", { extractDir: "/core" });
  python.runPython("import sys; sys.path.insert(0, '/core')");
  return interpreter(python);
}

/** Start from a memory, with the log it holds and its loose entries; null if it isn't as it was kept. */
export async function startRestored(
  files: FoldFiles,
  memory: Memory,
): Promise<{ fold: Interpreter; loose: string } | null> {
  const content = memory.read();
  // Whoever fails first is heard; the other then fails unheard.
  content.catch(() => undefined);
  const fold = interpreter(await start(files, memory, content));
  const { trial, sound, loose } = await content;
  return fold.trial() === trial && (await sound) ? { fold, loose } : null;
}
