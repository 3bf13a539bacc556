import { createHash } from "node:crypto";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";
import type { Plugin } from "vite";
import type { FoldFiles } from "../src/core/files";
import { type PythonFiles, pythonFiles } from "./python_files.ts";

/** Under `assets/`, so that the service lets browsers keep them for ever: each name holds its content's key. */
const FOLDER = "/assets/fold";
/** Good and quick: one step further takes ten times as long for a twentieth less. */
const BROTLI_QUALITY = 9;

type Served = { readonly path: string; readonly content: Uint8Array; readonly packed: Uint8Array | null };

const packed = (content: Uint8Array) =>
  brotliCompressSync(content, { params: { [constants.BROTLI_PARAM_QUALITY]: BROTLI_QUALITY } });

function served({ version, key, files }: PythonFiles): Served[] {
  const runtime = `${FOLDER}/python-${version}`;
  const standard = createHash("sha256").update(files.standard).digest("hex").slice(0, 12);
  return [
    { path: `${runtime}/pyodide.asm.wasm`, content: files.wasm, packed: packed(files.wasm) },
    { path: `${runtime}/pyodide.asm.mjs`, content: files.script, packed: packed(files.script) },
    // Archives are packed already.
    { path: `${FOLDER}/standard-${standard}.zip`, content: files.standard, packed: null },
    { path: `${FOLDER}/core-${key}.zip`, content: files.core, packed: null },
  ];
}

/** What the app is told of them, as the constant `__FOLD__`. */
function described({ key, version, lock }: PythonFiles, [wasm, script, standard, core]: Served[]): FoldFiles {
  const all = [wasm, script, standard, core].filter((one) => one !== undefined);
  return {
    key,
    runtime: `${FOLDER}/python-${version}/`,
    standard: standard?.path ?? "",
    core: core?.path ?? "",
    all: all.map((one) => one.path),
    lock,
    // A service without https gets gzip, which browsers take everywhere; so the larger of the two.
    bytes: all.reduce(
      (sum, one) => sum + (one.packed ? gzipSync(one.content).length : one.content.length),
      0,
    ),
  };
}

/** Puts the files of the fold into the build, or serves them to the development page. */
export async function foldFiles(): Promise<{ described: FoldFiles; plugin: Plugin }> {
  const python = await pythonFiles();
  const files = served(python);
  return {
    described: described(python, files),
    plugin: {
      name: "fold-files",
      generateBundle() {
        for (const { path, content, packed } of files) {
          this.emitFile({ type: "asset", fileName: path.slice(1), source: content });
          if (packed) this.emitFile({ type: "asset", fileName: `${path.slice(1)}.br`, source: packed });
        }
      },
      configureServer(server) {
        server.middlewares.use((request, answer, next) => {
          const found = files.find((one) => one.path === request.url?.split("?")[0]);
          if (found === undefined) return next();
          const type = found.path.endsWith(".mjs") ? "text/javascript" : "application/wasm";
          answer.setHeader("Content-Type", found.path.endsWith(".zip") ? "application/zip" : type);
          answer.end(found.content);
        });
      },
    },
  };
}
