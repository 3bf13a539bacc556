import type { Figure } from "../generated/shapes";
import { isObject } from "../log/entry";
import type { Station } from "../log/holding";
import { sideName } from "../words/planned";
import { anything, has, measure, t } from "../words/words";
import { Part } from "./screen";
import { Why } from "./why";

type Line = { readonly key: string; readonly side: string; readonly value: unknown };

/** What is known of a station now: every part of its state that the catalogue has a name for. */
export function StateList({ station }: { station: Station }) {
  const lines = told(station.type, station.plan?.state ?? {});
  if (lines.length === 0) return null;
  return (
    <Part title={t("app.station.state")}>
      <dl class="figures">
        {lines.map((line) => (
          <StateLine key={line.key + line.side} station={station} line={line} />
        ))}
      </dl>
    </Part>
  );
}

function StateLine({ station, line }: { station: Station; line: Line }) {
  const { value } = line;
  const side = line.side === "" ? "" : sideName(station, line.side);
  return (
    <>
      <dt>
        {t(`app.state.${line.key}`)}
        {side && <span class="soft"> {side}</span>}
      </dt>
      <dd>
        {isFigure(value) ? <FigureWords figure={value} /> : plainWords(line.key, value)}
        {isFigure(value) && <Why station={station} because={value.because} side={line.side || null} />}
      </dd>
    </>
  );
}

export function FigureWords({ figure }: { figure: Figure }) {
  if (figure.value === null) return <span class="soft">{t("app.not_known")}</span>;
  const { low, high, unit } = figure;
  return (
    <>
      {measure(figure.value, unit)}
      {low !== null && high !== null && low !== high && (
        <span class="soft range">{t("app.range", { low, high })}</span>
      )}
    </>
  );
}

const isFigure = (value: unknown): value is Figure =>
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
  const unit = UNIT_OF_ENDING[key.split("_").at(-1) ?? ""];
  if (typeof value === "number" && unit) return measure(value, unit);
  if (typeof value === "boolean") return t(value ? "app.yes" : "app.no");
  const name = key.replace(".", ".").split(".");
  const said = [`${key}.${String(value)}`, `app.choice.${name.at(-1)}.${String(value)}`].find(has);
  return said ? t(said) : anything(value);
}

/** Walk the state; `sides.a.x` and `sides.b.x` become one name with a side. */
function told(type: string, state: Readonly<Record<string, unknown>>, path = type, side = ""): Line[] {
  return Object.entries(state).flatMap(([name, value]) => {
    if (name === "sides" && isObject(value)) {
      return Object.entries(value).flatMap(([one, inner]) =>
        isObject(inner) ? told(type, inner, `${path}.sides`, one) : [],
      );
    }
    const key = `${path}.${name}`;
    if (value === null || value === undefined) return [];
    if (has(`app.state.${key}`)) return [{ key, side, value }];
    return isObject(value) ? told(type, value, key, side) : [];
  });
}
