/** The files the worker is made of, put in by the build; each address names its content. */
export type FoldFiles = {
  /** Interpreter, core and worker's Python in one name: what has the same key behaves the same. */
  readonly key: string;
  /** Folder of the interpreter. */
  readonly runtime: string;
  readonly standard: string;
  readonly core: string;
  /** All of them, to be kept for the time without signal. */
  readonly all: readonly string[];
  readonly lock: string;
  /** What fetching all of them takes, at most. */
  readonly bytes: number;
};

/** Apart from what the app needs to open: fetched later, and only where it is wanted. */
export const FILES_CACHE = "fallowside-fold";
/** The memory of a started interpreter, written by the phone itself. */
export const MEMORY_CACHE = "fallowside-fold-memory";

/** A phone that has the files of the version before gets these with the app's update: never half of it. */
export async function renewFiles(files: FoldFiles): Promise<void> {
  if (!(await caches.has(FILES_CACHE))) return;
  const kept = await caches.open(FILES_CACHE);
  const there = await Promise.all(files.all.map((path) => kept.match(path)));
  await kept.addAll(files.all.filter((_, index) => there[index] === undefined));
}

/** Let go of what belonged to another version. */
export async function dropOldFiles(files: FoldFiles): Promise<void> {
  if (!(await caches.has(FILES_CACHE))) return;
  const kept = await caches.open(FILES_CACHE);
  for (const request of await kept.keys()) {
    if (!files.all.includes(new URL(request.url).pathname)) await kept.delete(request);
  }
}
