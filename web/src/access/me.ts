import { computed, effect } from "@preact/signals";
import { localDay } from "../log/clock";
import type { Journal } from "../log/journal";
import { door, type Me } from "./door";

const NOT_LET_IN = ["sign_in", "signed_out"];

/** The service has said that this phone isn't let in, at its last call. */
export const shutOut = (journal: Journal): boolean => NOT_LET_IN.includes(journal.sync.value.refusal ?? "");

/** Who this phone was paired for, as far as it knows; kept, so that it knows with no signal. */
export const me = (journal: Journal): Me | null => (journal.kept.value["me"] as Me | undefined) ?? null;

/** Only hosts set up; what another proposes waits for one. */
export const proposes = (journal: Journal): boolean => (me(journal)?.role ?? "host") !== "host";

/** The stay is over: the service said so, or, with no signal too, its last day has passed. */
export function stayOver(who: Me, now = new Date()): boolean {
  return !who.here || (who.last_day !== null && who.last_day < localDay(now));
}

/** Ask the service who this phone is paired for; with no answer what was known stays. */
export async function learnWho(journal: Journal): Promise<void> {
  const reply = await door.me();
  if (reply.type === "answer") await become(journal, reply.body);
  else if (reply.type === "refused" && reply.status === 401) await journal.keep("me", undefined);
}

/**
 * Ask so at the start, and again whenever the service has answered and other things are set up than before, or
 * something was held for its date: a role or a last day changed elsewhere counts here from then on.
 *
 * @returns stops it
 */
export function followWho(journal: Journal): () => void {
  let asked: readonly unknown[] = [];
  // A number: with the list itself the log would be sorted for this at each of its pages, before the page is drawn.
  const late = computed(() => journal.held.value.filter((one) => one.code === "after_stay").length);
  return effect(() => {
    void journal.syncedAt.value;
    const there = [journal.setUp.peek(), late.value];
    if (there.every((one, at) => one === asked[at])) return;
    asked = there;
    void learnWho(journal);
  });
}

/** Be the person the phone was paired for: their name goes with what is recorded. */
export async function become(journal: Journal, who: Me): Promise<void> {
  const before = me(journal);
  if (JSON.stringify(before) === JSON.stringify(who)) return;
  await journal.keep("me", who);
  if (who.person !== "" && who.person !== before?.person) await journal.keep("person", who.person);
}
