import type { Ration } from "../generated/shapes";
import { useHere } from "../here";
import type { Station } from "../log/holding";
import { becauseWords, limitWords, sideName } from "../words/planned";
import { feedstockWords } from "../words/told";
import { number, t } from "../words/words";
import { Part } from "./screen";
import { Why } from "./why";

/** What may go in today, in figures large enough for arm's length, and the limit that binds. */
export function RationPart({ station, ration }: { station: Station; ration: Ration }) {
  const { holding } = useHere();
  return (
    <Part title={t("app.ration.title")}>
      {ration.kg === 0 ? (
        <p class="lead">{t("app.round.ration_none")}</p>
      ) : (
        <p class="huge">
          {number(ration.kg)} <small>kg</small>
        </p>
      )}
      <p>
        {ration.kg > 0 &&
          ration.side !== null &&
          `${t("app.ration.side", { side: sideName(station, ration.side) })} `}
        {ration.low !== ration.high && t("app.ration.range", { low: ration.low, high: ration.high })}
      </p>
      <p class="soft">
        {limitWords(ration)} <Why station={station} because={ration.because} side={ration.side} />
      </p>
      {ration.add.map((one) => (
        <p key={one.material}>
          {t("app.ration.add", { kg: one.kg, material: feedstockWords(one.material, holding) })}{" "}
          <span class="soft">{becauseWords(station, one.because)}</span>
        </p>
      ))}
    </Part>
  );
}
