import type { Finding } from "./check";
import { isFilled, isQuantity } from "./entry";
import type { Holding } from "./holding";
import type { Journal } from "./journal";
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
    if (most === null || kg <= most || !streams.includes(stream)) return null;
    return asking("feed_large", { kg, people: Number(because.values["people"] ?? 0) });
  }
  if (kind !== "reject" || draft["to"] !== "landfill") return null;
  const station = String(draft["station"]);
  const fedKg = fed(station, holding, journal);
  const gone = (tally.by_station.find((one) => one.id === station)?.rejected_kg ?? 0) + kg;
  return gone > fedKg ? asking("reject_larger", { kg: gone, fed_kg: fedKg }) : null;
}

/** What was fed to a station in the time of the tally, with what the plan doesn't know yet. */
function fed(station: string, holding: Holding, journal: Journal): number {
  const known = holding.plan.value?.tally.by_station.find((one) => one.id === station)?.kg ?? 0;
  return journal.fresh.value
    .filter((entry) => entry.kind === "feed" && entry.station === station)
    .reduce((sum, entry) => sum + (weight(entry["amount"], String(entry["feedstock"]), holding) ?? 0), known);
}

const asking = (code: string, values: Finding["values"]): Finding => ({
  code,
  field: "amount",
  ask: true,
  values,
});
