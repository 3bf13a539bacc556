import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { loadPyodide } from "pyodide";

/*
 * What the phone's worker runs, made from sources: the interpreter as its package brings it, so much of
 * its standard library as the core imports, and the core itself. Both are compiled here, by the very
 * interpreter that will run them, since compiling is two thirds of a phone's first start.
 */
const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));
const RUNTIME = here("../node_modules/pyodide");
const SERVER = here("../../server");
const WORKER = here("../src/core");
const KEPT = here("../node_modules/.cache/fallowside");

export type PythonFiles = {
  /** Names interpreter and sources: what has the same key behaves the same. */
  readonly key: string;
  readonly version: string;
  /** What a lock file of packages says of the interpreter; packages there are none. */
  readonly lock: string;
  readonly files: Readonly<Record<"wasm" | "script" | "standard" | "core", Uint8Array>>;
};

/** Every source of ours that the worker runs, by the path it has there. */
function sources(): Map<string, Buffer> {
  const core = readdirSync(join(SERVER, "fallowside/core"), { recursive: true, withFileTypes: true })
    .filter((one) => one.isFile() && !one.parentPath.includes("__pycache__"))
    .map((one) => relative(SERVER, join(one.parentPath, one.name)))
    .sort();
  const ours = ["fallowside/__init__.py", ...core].map((path) => [path, join(SERVER, path)] as const);
  const worker = ["fold.py", "trial.json"].map((name) => [name, join(WORKER, name)] as const);
  return new Map([...ours, ...worker].map(([path, file]) => [path, readFileSync(file)]));
}

export async function pythonFiles(): Promise<PythonFiles> {
  const read = (name: string) => readFileSync(join(RUNTIME, name));
  const { version } = JSON.parse(read("package.json").toString()) as { version: string };
  const { info } = JSON.parse(read("pyodide-lock.json").toString()) as { info: object };
  const lock = JSON.stringify({ info, packages: {} });
  const there = sources();
  const digest = createHash("sha256")
    .update(version)
    .update(readFileSync(here("compile.py")));
  for (const [path, content] of there) digest.update(`\n${path}\n`).update(content);
  const key = `${version}-${digest.digest("hex").slice(0, 12)}`;
  const [standard, core] = await compiled(key, lock, there);
  return {
    key,
    version,
    lock,
    files: { wasm: read("pyodide.asm.wasm"), script: read("pyodide.asm.mjs"), standard, core },
  };
}

async function compiled(
  key: string,
  lock: string,
  there: Map<string, Buffer>,
): Promise<[Uint8Array, Uint8Array]> {
  const names = ["standard", "core"].map((name) => join(KEPT, `${name}-${key}.zip`)) as [string, string];
  if (!names.every(existsSync)) {
    const python = await loadPyodide({ indexURL: RUNTIME, lockFileContents: lock });
    for (const [path, content] of there) {
      const file = `/sources/${path}`;
      python.FS.mkdirTree(file.slice(0, file.lastIndexOf("/")));
      python.FS.writeFile(file, content);
    }
    python.runPython(readFileSync(here("compile.py"), "utf-8"));
    mkdirSync(KEPT, { recursive: true });
    for (const [place, name] of [
      ["/standard.zip", names[0]],
      ["/core.zip", names[1]],
    ] as const) {
      // Written aside first: another build may be at the same work.
      writeFileSync(`${name}.${process.pid}`, python.FS.readFile(place));
      renameSync(`${name}.${process.pid}`, name);
    }
  }
  return [readFileSync(names[0]), readFileSync(names[1])];
}
