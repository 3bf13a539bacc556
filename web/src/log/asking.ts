import type { Finding } from "./check";
import { localDay } from "./clock";
import { isFilled, isQuantity } from "./entry";
import type { Holding } from "./holding";
import type { Journal } from "./journal";
import { byEye, rounded } from "./rounded";
import { toSi } from "./units";

/*
 * Slips of the thumb are asked about, never refused. The limits come with the last plan; the weight
 * reckoned here only decides whether to ask.
 */

/** What an amount weighs, as far as the phone can say. [kg] */
export function weight(amount: unknown, feedstock: string, holding: Holding): number | null {
  const density = holding.feedstocks.value.find((one) => one.id === feedstock)?.kgPerL ?? null;
  const litres = (volume: number) => (density === null ? null : volume * density);
  if (isFilled(amount)) {
    const found = holding.containers.value.find((one) => one.id === amount.container);
    const full = found?.fullKg ?? (typeof found?.litres === "number" ? litres(found.litres) : null);
    return full === null ? null : full * (amount.filled ?? 1);
  }
  const si = isQuantity(amount) ? toSi(amount.value, amount.unit) : null;
  if (si === null) return null;
  return si.unit === "kg" ? si.value : si.unit === "L" ? litres(si.value) : null;
}

/** What to ask before an entry is saved: a feed too large for those who eat here, a reject larger than the feeds. */
export function asked(
  draft: Readonly<Record<string, unknown>>,
  holding: Holding,
  journal: Journal,
): Finding | null {
  const { kind, feedstock, amount } = draft;
  const kg = typeof feedstock === "string" ? weight(amount, feedstock, holding) : null;
  const tally = holding.plan.value?.tally;
  if (kg === null || tally === undefined) return null;
  if (kind === "feed") {
    const { kg: most, streams, because } = tally.feed_limit;
    const stream = holding.feedstocks.value.find((one) => one.id === feedstock)?.stream ?? "";
    if (most !== null && kg > most && streams.includes(stream)) {
      return asking("feed_large", { kg, people: Number(because.values["people"] ?? 0) });
    }
    const left = leftToday(draft, holding, journal);
    return left !== null && over(kg, left)
      ? asking("over_ration", { kg: isFilled(amount) ? byEye(kg) : kg, left })
      : null;
  }
  if (kind !== "reject" || draft["to"] !== "landfill") return null;
  const station = String(draft["station"]);
  const fedKg = fed(station, holding, journal);
  const gone = (tally.by_station.find((one) => one.id === station)?.rejected_kg ?? 0) + kg;
  return gone > fedKg ? asking("reject_larger", { kg: gone, fed_kg: fedKg }) : null;
}

/** Whether a weight is more than what is left, as far as either is told: to ten grams. */
export const over = (kg: number, left: number): boolean => Math.round((kg - left) * 100) > 0;

/**
 * What is left of the ration, as it is told, a feed counts against; null where there is none: another day, the resting
 * side, bedding or water, a plan of before. [kg]
 */
export function leftToday(
  feed: Readonly<Record<string, unknown>>,
  holding: Holding,
  journal: Pick<Journal, "fresh">,
): number | null {
  const isToday = (at: unknown) => localDay(new Date(String(at))) === localDay(new Date());
  const ration = holding.station(String(feed["station"]))?.plan?.ration;
  const stream = holding.feedstocks.value.find((one) => one.id === feed["feedstock"])?.stream ?? "";
  if (!ration || UNEATEN.has(stream)) return null;
  if (!isToday(holding.plan.value?.at) || (feed["at"] !== undefined && !isToday(feed["at"]))) return null;
  const counted = (side: unknown) => ration.side === null || side === ration.side;
  if (!counted(feed["side"])) return null;
  const since = journal.fresh.value
    .filter((entry) => entry.kind === "feed" && entry.station === feed["station"])
    .filter((entry) => counted(entry.side) && isToday(entry.at))
    .map((entry) => weight(entry["amount"], String(entry["feedstock"]), holding) ?? 0);
  return Math.max(
    0,
    since.reduce((left, kg) => left - kg, rounded(ration.kg, ration.low, ration.high)),
  );
}

/** Streams nobody eats: they count against no ration. */
const UNEATEN: ReadonlySet<string> = new Set(["bedding", "paper", "castings", "water"]);

/** What was fed to a station in the time of the tally, with what the plan doesn't know yet. */
function fed(station: string, holding: Holding, journal: Journal): number {
  const known = holding.plan.value?.tally.by_station.find((one) => one.id === station)?.kg ?? 0;
  return journal.fresh.value
    .filter((entry) => entry.kind === "feed" && entry.station === station)
    .reduce((sum, entry) => sum + (weight(entry["amount"], String(entry["feedstock"]), holding) ?? 0), known);
}

/** Said beside the press that saves: a record that stood ready was never typed into a field. */
const asking = (code: string, values: Finding["values"]): Finding => ({
  code,
  field: "",
  ask: true,
  values,
});
