import { useEffect, useRef, useState } from "preact/hooks";
import type { Series } from "../generated/shapes";
import type { Station } from "../log/holding";
import { sideName } from "../words/planned";
import { day, measure, say, t, unitName } from "../words/words";
import { Part } from "./screen";

/** One chart at a time, of all a station has; what is drawn can always be read as a table. */
export function SeriesPart({ station }: { station: Station }) {
  const all = (station.plan?.series ?? []).filter((one) => one.values.some((value) => value !== null));
  const [chosen, choose] = useState(0);
  const series = all[chosen] ?? all[0];
  if (series === undefined) return null;
  const unit = unitName(series.unit);
  return (
    <Part title={t("app.series.heading")}>
      {all.length > 1 && (
        <label class="typed">
          <span>{t("app.series.show")}</span>
          <select value={chosen} onChange={(event) => choose(Number(event.currentTarget.value))}>
            {all.map((one, index) => (
              <option key={named(station, one)} value={index}>
                {named(station, one)}
              </option>
            ))}
          </select>
        </label>
      )}
      <p class="soft chart-unit">
        {t("app.series.in", { name: named(station, series), unit: unit || "none" })}
      </p>
      <Drawing series={series} />
      <details class="more">
        <summary>{t("app.series.table")}</summary>
        <SeriesTable series={series} name={named(station, series)} />
      </details>
    </Part>
  );
}

function named(station: Station, series: Series): string {
  const keys = [`app.series.${station.type}.${series.name}`, `app.series.${series.name}`, "app.series.other"];
  return t("app.series.option", {
    name: say(keys, { name: series.name }),
    side: series.side ? sideName(station, series.side) : "none",
  });
}

/** Drawn by a library that is fetched when the chart comes into view. */
function Drawing({ series }: { series: Series }) {
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
  return failed ? (
    <p class="soft">{t("app.series.no_chart")}</p>
  ) : (
    <div ref={box} class="chart" aria-hidden="true" />
  );
}

/** As many of the newest days as somebody would read. */
const ROWS = 60;

function SeriesTable({ series, name }: { series: Series; name: string }) {
  const shown = series.days.flatMap((at, index) => {
    const value = series.values[index];
    return value === null || value === undefined ? [] : [{ at, value }];
  });
  return (
    <table class="numbers">
      <caption class="heard">{name}</caption>
      <thead>
        <tr>
          <th scope="col">{t("app.series.day")}</th>
          <th scope="col">{t("app.series.value")}</th>
        </tr>
      </thead>
      <tbody>
        {shown
          .slice(-ROWS)
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
