import type { Ahead } from "../generated/shapes";
import { daysBetween } from "../log/clock";
import { today } from "../words/words";

/** Days from today up to a quarter of a year, the later the closer together; a year is the far end. */
const FAR_DAYS = 365;
const place = (days: number): number =>
  (Math.sqrt(Math.min(Math.max(days, 0), FAR_DAYS)) / Math.sqrt(FAR_DAYS)) * 292 + 4;

/** An interval as a line from today: thick where the day probably lies, a stone on its middle. */
export function SpanLine({ one }: { one: Pick<Ahead, "due" | "earliest" | "latest"> }) {
  const now = today();
  const at = (iso: string | null, otherwise: number) =>
    place(iso === null ? otherwise : daysBetween(now, iso));
  if (one.due === null && one.earliest === null) return null;
  const from = at(one.earliest, 0);
  const until = at(one.latest, FAR_DAYS);
  return (
    <svg class="span-line" viewBox="0 0 300 22" preserveAspectRatio="none" aria-hidden="true">
      <path class="span-way" d="M4 11H296" />
      {[7, 30, 91, 182].map((days) => (
        <path key={days} class="span-mark" d={`M${place(days)} 7v8`} />
      ))}
      <path class="span-likely" d={`M${from} 11H${Math.max(until, from + 1)}`} />
      {one.due !== null && <path class="span-due" d={`M${at(one.due, 0)} 11h.01`} />}
    </svg>
  );
}
