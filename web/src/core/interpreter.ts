import { loadPyodide, type PyodideAPI } from "pyodide";
import type { FoldFiles } from "./files";

/** A started interpreter that holds one log. */
export type Interpreter = {
  forget(): void;
  take(text: string): void;
  plan(at: string): string;
  /** Plan the known small log. */
  trial(): string;
};

/** The worker's own Python, `fold.py`, as it is seen from here. */
type Fold = Interpreter & { destroy(): void };

/*
 * Two of the options and one function are marked private by the package: they take and restore the
 * whole memory of the interpreter. The package is pinned, the memory is kept under the key of all that
 * made it, and is tried on a known log before it is trusted; a plain start is always behind it.
 */
type Started = PyodideAPI & { makeMemorySnapshot(): Uint8Array };

const options = (files: FoldFiles) => ({
  indexURL: files.runtime,
  stdLibURL: files.library,
  lockFileContents: files.lock,
  // Nothing is read from a console, and what Python prints is for nobody.
  stdin: () => null,
  stdout: () => undefined,
});

const opened = (python: PyodideAPI): Interpreter => python.pyimport("fold") as Fold;

/** Start from nothing; gives the memory to keep too, as it is before the first entry. */
export async function startPlain(
  files: FoldFiles,
): Promise<{ fold: Interpreter; memory: Uint8Array<ArrayBuffer> }> {
  const core = fetch(files.core);
  const python = (await loadPyodide({ ...options(files), _makeSnapshot: true })) as Started;
  const archive = await (await core).arrayBuffer();
  python.unpackArchive(archive, "zip", { extractDir: "/core" });
  python.runPython("import sys; sys.path.insert(0, '/core'); import fold; fold.trial()");
  const memory = python.makeMemorySnapshot() as Uint8Array<ArrayBuffer>;
  return { fold: opened(python), memory };
}

/** Start from the memory of an earlier plain start. */
export async function startRestored(files: FoldFiles, memory: Uint8Array): Promise<Interpreter> {
  const python = await loadPyodide({ ...options(files), _loadSnapshot: memory });
  return opened(python);
}
