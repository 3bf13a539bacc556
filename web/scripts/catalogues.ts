import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Plugin } from "vite";

const MODULE = /^words:([a-z]{2})(:later)?$/;
/** Parts that only the service says. */
const LEFT_OUT: ReadonlySet<string> = new Set(["terminal", "sheet", "trust"]);

/** Parts that nobody reads before a working is opened: they come then. */
const LATER: ReadonlySet<string> = new Set(["constant"]);

/**
 * Gives a module `words:es` for each language: its messages, and in English those it lacks. What it
 * has in `words:es:later` is fetched when it is called for.
 */
export function catalogues(folder: string): Plugin {
  const parts = (language: string, later: boolean): string[] =>
    readdirSync(folder).filter((file) => {
      const [room = "", of] = file.split(".");
      return of === language && !LEFT_OUT.has(room) && LATER.has(room) === later;
    });
  const read = (files: readonly string[]): Record<string, string> =>
    Object.assign({}, ...files.map((file) => JSON.parse(readFileSync(join(folder, file), "utf8"))));
  return {
    name: "catalogues",
    resolveId: (id) => (MODULE.test(id) ? `\0${id}` : undefined),
    load(id) {
      const [, language, later] = MODULE.exec(id.slice(1)) ?? [];
      if (language === undefined) return undefined;
      const [english, own] = [parts("en", later !== undefined), parts(language, later !== undefined)];
      for (const file of [...english, ...own]) this.addWatchFile(join(folder, file));
      const rest = later ? "" : `export const later = () => import("words:${language}:later");`;
      return `export default ${JSON.stringify({ ...read(english), ...read(own) })};${rest}`;
    },
  };
}
