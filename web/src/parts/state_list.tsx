import type { Figure } from "../generated/shapes";
import { isObject } from "../log/entry";
import type { Station } from "../log/holding";
import { anything, estimate, has, mass, measure, range, t } from "../words/words";
import { Part } from "./screen";
import { Why } from "./why";

type Line = { readonly key: string; readonly value: unknown };

/** What is known of a station now: every part of its state that the catalogue has a name for. */
export function StateList({ station }: { station: Station }) {
  const lines = told(station.plan?.state ?? {}, station.type);
  if (lines.length === 0) return null;
  return (
    <Part title={t("app.station.state")}>
      <dl class="figures">
        {lines.map((line) => (
          <StateLine key={line.key} station={station} line={line} />
        ))}
      </dl>
    </Part>
  );
}

function StateLine({ station, line }: { station: Station; line: Line }) {
  const { key, value } = line;
  return (
    <>
      <dt>{t(`app.state.${key}`)}</dt>
      <dd>{isFigure(value) ? <FigureWords station={station} figure={value} /> : plainWords(key, value)}</dd>
    </>
  );
}

function FigureWords({ station, figure }: { station: Station; figure: Figure }) {
  const { value, low, high, unit } = figure;
  if (value === null) return <span class="soft">{t("app.not_known")}</span>;
  return (
    <Why station={station} because={figure.because}>
      {estimate(value, low, high, unit).amount}
      <Range of={figure} />
    </Why>
  );
}

/** How far a figure may be off; nothing where that isn't known. */
export function Range({ of: { value, low, high, unit } }: { of: Figure }) {
  const said = value === null ? "" : range(value, low, high, unit);
  return said === "" ? null : <small>{said}</small>;
}

export const isFigure = (value: unknown): value is Figure =>
  isObject(value) && "value" in value && "because" in value && "unit" in value;

/** The unit a name of the state ends with, as everywhere in the core. */
const UNIT_OF_ENDING: Readonly<Record<string, string>> = {
  kg: "kg",
  g: "g",
  c: "degC",
  pct: "%",
  l: "L",
  m: "m",
  m2: "m^2",
};

function plainWords(key: string, value: unknown): string {
  const unit = key.endsWith("_mg_per_l") ? "mg/L" : UNIT_OF_ENDING[key.split("_").at(-1) ?? ""];
  if (typeof value === "number" && unit) return unit === "kg" ? mass(value) : measure(value, unit);
  if (typeof value === "boolean") return t(value ? "app.yes" : "app.no");
  const said = [
    `app.state.${key}.${String(value)}`,
    `app.choice.${key.split(".").at(-1)}.${String(value)}`,
  ].find(has);
  return said ? t(said) : anything(value);
}

/** Walk the state; what belongs to the two sides has a table of its own. */
function told(state: Readonly<Record<string, unknown>>, path: string): Line[] {
  return Object.entries(state).flatMap(([name, value]) => {
    const key = `${path}.${name}`;
    if (value === null || value === undefined || name === "sides") return [];
    if (has(`app.state.${key}`)) return [{ key, value }];
    return isObject(value) ? told(value, key) : [];
  });
}
