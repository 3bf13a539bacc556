import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Plugin } from "vite";

const MODULE = /^words:([a-z]{2})$/;
/** Parts that only the service says. */
const LEFT_OUT: ReadonlySet<string> = new Set(["terminal", "sheet", "trust"]);

/** Gives a module `words:es` for each language: all its messages, and in English those it lacks. */
export function catalogues(folder: string): Plugin {
  const parts = (language: string): string[] =>
    readdirSync(folder).filter((file) => {
      const [room = "", of] = file.split(".");
      return of === language && !LEFT_OUT.has(room);
    });
  const read = (files: readonly string[]): Record<string, string> =>
    Object.assign({}, ...files.map((file) => JSON.parse(readFileSync(join(folder, file), "utf8"))));
  return {
    name: "catalogues",
    resolveId: (id) => (MODULE.test(id) ? `\0${id}` : undefined),
    load(id) {
      const language = MODULE.exec(id.slice(1))?.[1];
      if (language === undefined) return undefined;
      const [english, own] = [parts("en"), parts(language)];
      for (const file of [...english, ...own]) this.addWatchFile(join(folder, file));
      return `export default ${JSON.stringify({ ...read(english), ...read(own) })}`;
    },
  };
}
