import type { Entry } from "./entry";

/** What somebody asked, and what was answered, oldest answer first. */
export type Question = { readonly asked: Entry; readonly answers: readonly Entry[] };

/** So many days an answered question stays in sight. */
const IN_SIGHT_MS = 7 * 86_400_000;

/**
 * Questions that still want somebody to look: those nobody has answered, and those answered lately.
 *
 * @param newest the log, newest first
 */
export function questions(newest: readonly Entry[], now: Date): readonly Question[] {
  const answered = newest.filter((entry) => entry.kind === "answer").reverse();
  return newest
    .filter((entry) => entry.kind === "question")
    .map((asked) => ({ asked, answers: answered.filter((one) => one["of"] === asked.id) }))
    .filter(({ answers: given }) => {
      const last = given.at(-1);
      return last === undefined || now.getTime() - Date.parse(last.at) < IN_SIGHT_MS;
    });
}
