import { type Entry, isFilled } from "./entry";

/** What a person feeds by the container here: the container, and what was in it. */
export type Usual = { readonly container: string; readonly feedstock: string };

/**
 * The container and feedstock somebody most likely holds now.
 *
 * @param newest the log, newest first
 * @param station where they stand
 * @param person who they are, or '' if nobody has said
 * @param containers those in use, the first one taken where nobody has fed by the container yet
 * @param feedstocks what may go in here, the likeliest first
 */
export function usual(
  newest: readonly Entry[],
  station: string,
  person: string,
  containers: readonly string[],
  feedstocks: readonly string[],
): Usual | null {
  const fed = newest.filter(
    (entry) => entry.kind === "feed" && feedstocks.includes(String(entry["feedstock"])),
  );
  const filled = fed.filter((entry) => {
    const amount = entry["amount"];
    return isFilled(amount) && containers.includes(amount.container);
  });
  const here = filled.filter((entry) => entry.station === station);
  const mine = filled.filter((entry) => person !== "" && entry.by === person);
  const found = here.find((entry) => mine.includes(entry)) ?? here[0] ?? mine[0];
  const amount = found?.["amount"];
  const container = isFilled(amount) ? amount.container : containers[0];
  const feedstock = found ? String(found["feedstock"]) : (mostFed(fed, station) ?? feedstocks[0]);
  return container === undefined || feedstock === undefined ? null : { container, feedstock };
}

/** So many of the newest say what is usual. */
const LATELY = 20;

function mostFed(fed: readonly Entry[], station: string): string | undefined {
  const counts = new Map<string, number>();
  for (const entry of fed.filter((one) => one.station === station).slice(0, LATELY)) {
    const feedstock = String(entry["feedstock"]);
    counts.set(feedstock, (counts.get(feedstock) ?? 0) + 1);
  }
  return [...counts].sort(([, one], [, other]) => other - one)[0]?.[0];
}
