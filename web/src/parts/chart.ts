import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import type { Series } from "../generated/shapes";
import { locale, number } from "../words/words";

const HEIGHT = 210;
/** So few points are shown one by one. */
const FEW = 40;

/** Draw a series as a line with its band, in the colours of the page; gives back how to clear it. */
export function drawChart(box: HTMLElement, series: Series): () => void {
  const colour = (name: string) => resolved(box, name);
  const days = series.days.map((day) => Date.parse(`${day}T12:00Z`) / 1000);
  const banded = series.low !== undefined && series.high !== undefined;
  // The band is drawn first, so that the line lies on it.
  const lines = [...(banded ? [series.low, series.high] : []), series.values];
  const data: uPlot.AlignedData = [days, ...lines.map((line) => [...(line ?? [])])];
  const axis: uPlot.Axis = {
    stroke: colour("--ink"),
    grid: { stroke: colour("--line"), width: 1 },
    ticks: { stroke: colour("--line"), width: 1 },
    font: `14px ${getComputedStyle(box).fontFamily}`,
  };
  const short = new Intl.DateTimeFormat(locale.value, { day: "numeric", month: "short", timeZone: "UTC" });
  const chart = new uPlot(
    {
      width: box.clientWidth,
      height: HEIGHT,
      legend: { show: false },
      cursor: { show: false },
      scales: { x: { time: true } },
      axes: [
        {
          ...axis,
          values: (_chart, ticks) => ticks.map((at) => short.format(new Date(at * 1000))),
          space: 70,
        },
        { ...axis, values: (_chart, ticks) => ticks.map((value) => number(value)), size: 52 },
      ],
      series: [
        {},
        ...(banded ? [{ stroke: "transparent" }, { stroke: "transparent" }] : []),
        {
          stroke: colour("--water"),
          width: 2.5,
          spanGaps: true,
          points: { show: days.length < FEW, size: 6 },
        },
      ],
      ...(banded ? { bands: [{ series: [2, 1] as [number, number], fill: colour("--water-wash") }] } : {}),
      hooks: { drawClear: [(drawn) => comfortable(drawn, series.band, colour("--moss-wash"))] },
    },
    data,
    box,
  );
  const fit = new ResizeObserver(() => chart.setSize({ width: box.clientWidth, height: HEIGHT }));
  fit.observe(box);
  return () => {
    fit.disconnect();
    chart.destroy();
  };
}

/** The comfortable range lies behind the line as a strip. */
function comfortable(chart: uPlot, band: readonly number[] | undefined, fill: string): void {
  const [low, high] = band ?? [];
  if (low === undefined || high === undefined) return;
  const { left, top, width, height } = chart.bbox;
  const upper = Math.max(top, chart.valToPos(high, "y", true));
  const lower = Math.min(top + height, chart.valToPos(low, "y", true));
  if (lower <= upper) return;
  chart.ctx.fillStyle = fill;
  chart.ctx.fillRect(left, upper, width, lower - upper);
}

/** A canvas doesn't know `light-dark()`: let the page say which colour it is now. */
function resolved(box: HTMLElement, name: string): string {
  const probe = document.createElement("span");
  probe.style.color = `var(${name})`;
  box.append(probe);
  const colour = getComputedStyle(probe).color;
  probe.remove();
  return colour;
}
