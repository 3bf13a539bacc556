/*
 * The phone's interpreter in Node: the core as it is on this disk, run by the same WebAssembly and
 * standard library that a browser gets. Reads one request a line, writes one answer a line, both JSON:
 * `{entries: [text, …], at}` gives `{plan}`; `{python}` gives `{value}`; a fault gives `{fault}`.
 * A text of entries is the JSON of a list. With `kept` they come to those of the request before; with
 * `rewritten` JavaScript reads and writes them first.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { pathToFileURL } from "node:url";

const [web, server, library] = process.argv.slice(2);
const runtime = join(web, "node_modules/pyodide");
const { loadPyodide } = await import(pathToFileURL(join(runtime, "pyodide.mjs")));
const { info } = JSON.parse(readFileSync(join(runtime, "pyodide-lock.json")));

const python = await loadPyodide({
  indexURL: runtime,
  stdLibURL: library,
  lockFileContents: { info, packages: {} },
  env: { PYTHONDONTWRITEBYTECODE: "1" },
});
for (const [place, folder] of [["/server", server], ["/worker", join(web, "src/core")]]) {
  python.FS.mkdir(place);
  python.FS.mount(python.FS.filesystems.NODEFS, { root: folder }, place);
}
python.runPython("import sys; sys.path[:0] = ['/server', '/worker']");
const fold = python.pyimport("fold");

function plan(at) {
  const made = fold.plan(at);
  const buffer = made.getBuffer();
  const text = new TextDecoder().decode(buffer.data);
  buffer.release();
  made.destroy();
  return text;
}

function answer({ entries, at, kept, rewritten, python: code }) {
  if (code !== undefined) return { value: python.runPython(code) ?? null };
  if (!kept) fold.forget();
  for (const text of entries) fold.take(rewritten ? JSON.stringify(JSON.parse(text)) : text);
  return { plan: plan(at) };
}

for await (const line of createInterface({ input: process.stdin })) {
  let said;
  try {
    said = answer(JSON.parse(line));
  } catch (error) {
    said = { fault: String(error.message).trim().split("\n").at(-1) };
  }
  process.stdout.write(`${JSON.stringify(said)}\n`);
}
