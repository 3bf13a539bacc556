import { isObject } from "../log/entry";
import type { Station } from "../log/holding";
import { sideName } from "../words/planned";
import { estimate, has, t } from "../words/words";
import { Part } from "./screen";
import { isFigure, Range } from "./state_list";
import { Why } from "./why";

/** The two sides of a bed beside each other, each figure with its span; a press opens its working. */
export function SidesTable({ station }: { station: Station }) {
  const sides = station.plan?.state["sides"];
  if (!isObject(sides)) return null;
  const names = Object.keys(sides);
  const rows = [...new Set(names.flatMap((side) => figuresOf(sides[side])))];
  return (
    <Part title={t("app.state.sides")}>
      <table class="sides">
        <thead>
          <tr>
            <td />
            {names.map((side) => (
              <th key={side} scope="col">
                {sideName(station, side)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={row}>
              <th scope="row">
                {t(`app.side_state.${row}`)}
                {DRY.has(row) && <small>{t("app.side_state.dry")}</small>}
              </th>
              {names.map((side) => (
                <td key={side}>
                  <Cell
                    station={station}
                    side={side}
                    figure={isObject(sides[side]) ? sides[side][row] : null}
                  />
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </Part>
  );
}

/** Told as dry matter: it neither dries nor soaks. */
const DRY: ReadonlySet<string> = new Set(["castings", "scraps"]);

const figuresOf = (side: unknown): string[] =>
  isObject(side)
    ? Object.keys(side).filter((name) => isFigure(side[name]) && has(`app.side_state.${name}`))
    : [];

function Cell({ station, side, figure }: { station: Station; side: string; figure: unknown }) {
  if (!isFigure(figure) || figure.value === null) return <span class="soft">{t("app.not_known")}</span>;
  return (
    <Why station={station} because={figure.because} side={side}>
      {estimate(figure.value, figure.low, figure.high, figure.unit).amount}
      <Range of={figure} />
    </Why>
  );
}
