import { useEffect, useState } from "preact/hooks";
import type { Tally } from "../../generated/shapes";
import { useHere } from "../../here";
import { month, t, today } from "../../words/words";

/** A year of whole months as the plan has it, or one month: `''` or `YYYY-MM`. */
export type Period = string;

/** The tally of a period: the plan's own, else from the phone's planner, else the service's; null meanwhile. */
export function useTally(period: Period): { tally: Tally | null; asking: boolean } {
  const { journal, holding, fold } = useHere();
  const year = holding.plan.value?.tally ?? null;
  const gotAt = journal.plan.value?.gotAt;
  const { phase } = fold.state.value;
  const [found, find] = useState<{ period: Period; tally: Tally | null } | null>(null);
  useEffect(() => {
    if (period === "") return;
    let gone = false;
    const [since, until] = daysOf(period);
    void fold
      .tally(since, until)
      .then((here) => here ?? journal.tally(since, until))
      .then((tally) => !gone && find({ period, tally }));
    return () => {
      gone = true;
    };
  }, [period, gotAt, phase]);
  if (period === "") return { tally: year, asking: false };
  return found?.period === period ? { tally: found.tally, asking: false } : { tally: null, asking: true };
}

/** First and last day of a month; of this one, until today. */
export function daysOf(period: Period): readonly [string, string] {
  const [year = 0, number = 1] = period.split("-").map(Number);
  const last = new Date(Date.UTC(year, number, 0)).toISOString().slice(0, 10);
  return [`${period}-01`, [last, today()].sort()[0] ?? last];
}

export function PeriodPick({ period, onPick }: { period: Period; onPick(period: Period): void }) {
  const { holding } = useHere();
  const months = holding.plan.value?.tally.months ?? [];
  return (
    <label class="typed">
      <span>{t("app.tally.for")}</span>
      <select value={period} onChange={(event) => onPick(event.currentTarget.value)}>
        <option value="">{t("app.tally.whole_year")}</option>
        {[...months].reverse().map((one) => (
          <option key={one.month} value={one.month}>
            {month(one.month, "long")}
          </option>
        ))}
      </select>
    </label>
  );
}
