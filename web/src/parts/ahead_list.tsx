import type { Ahead, Figure } from "../generated/shapes";
import type { Station } from "../log/holding";
import { aheadWords, dueWords, spanWords } from "../words/planned";
import { estimate, t } from "../words/words";
import { SpanLine } from "./span_line";
import { Why } from "./why";

/** What is coming, each with its 80 % interval in words and as a line. */
export function AheadList({
  station,
  items,
  named = false,
}: {
  station: Station;
  items: readonly Ahead[];
  named?: boolean;
}) {
  return (
    <ul class="ahead">
      {items.map((one) => (
        <li key={`${one.what}${one.side ?? ""}`}>
          <p>
            <strong>{aheadWords(station, one)}</strong>
          </p>
          <p>
            {named && <span class="soft">{station.name}</span>}
            {named && one.due !== null && <span class="soft"> · </span>}
            {/* The heading over what is named so says already that it has no date. */}
            {!(named && one.due === null) && <span class="when">{dueWords(one.due)}</span>}
          </p>
          <SpanLine one={one} />
          <p class="soft">
            {spanWords(one)} <Why station={station} because={one.because} side={one.side} />
          </p>
          {one.amount && <Coming amount={one.amount} />}
        </li>
      ))}
    </ul>
  );
}

function Coming({ amount }: { amount: Figure }) {
  const { value, low, high, unit } = amount;
  if (value === null) return null;
  const said = estimate(value, low, high, unit);
  return <p>{t("app.ahead.amount", { ...said, value: said.figure })}</p>;
}
