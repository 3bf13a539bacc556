import { useEffect, useRef, useState } from "preact/hooks";
import type { Series } from "../generated/shapes";
import type { Station } from "../log/holding";
import { symbol } from "../log/units";
import { sideName } from "../words/planned";
import { day, measure, say, t } from "../words/words";
import { Part } from "./screen";

/** A chart, drawn by a library that is fetched when the chart comes into view; its table is always there. */
export function SeriesPart({ station, series }: { station: Station; series: Series }) {
  const box = useRef<HTMLDivElement>(null);
  const [failed, fail] = useState(false);
  useEffect(() => {
    const here = box.current;
    if (here === null) return;
    let clear: (() => void) | undefined;
    let gone = false;
    const watcher = new IntersectionObserver(async ([seen]) => {
      if (!seen?.isIntersecting) return;
      watcher.disconnect();
      try {
        const { drawChart } = await import("./chart");
        if (!gone) clear = drawChart(here, series);
      } catch {
        fail(true);
      }
    });
    watcher.observe(here);
    return () => {
      gone = true;
      watcher.disconnect();
      clear?.();
    };
  }, [series]);
  const name = say([`app.series.${station.type}.${series.name}`, `app.series.${series.name}`, "app.series.other"], {
    name: series.name,
  });
  const title = t("app.series.title", {
    name,
    unit: symbol(series.unit),
    side: series.side ? sideName(station, series.side) : "none",
  });
  return (
    <Part title={title}>
      {failed ? <p class="soft">{t("app.series.no_chart")}</p> : <div ref={box} class="chart" aria-hidden="true" />}
      <details class="more">
        <summary>{t("app.series.table")}</summary>
        <SeriesTable series={series} name={title} />
      </details>
    </Part>
  );
}

function SeriesTable({ series, name }: { series: Series; name: string }) {
  const shown = series.days.flatMap((at, index) => {
    const value = series.values[index];
    return value === null || value === undefined ? [] : [{ at, value }];
  });
  return (
    <table class="numbers">
      <caption>{name}</caption>
      <thead>
        <tr>
          <th scope="col">{t("app.series.day")}</th>
          <th scope="col">{t("app.series.value")}</th>
        </tr>
      </thead>
      <tbody>
        {shown
          .slice(-60)
          .reverse()
          .map(({ at, value }) => (
            <tr key={at}>
              <th scope="row">{day(at)}</th>
              <td>{measure(value, series.unit)}</td>
            </tr>
          ))}
      </tbody>
    </table>
  );
}
