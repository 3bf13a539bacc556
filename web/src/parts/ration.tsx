import { Fragment } from "preact";
import type { Ration } from "../generated/shapes";
import { useHere } from "../here";
import type { Station } from "../log/holding";
import { becauseWords, limitWords, sideName } from "../words/planned";
import { feedstockWords } from "../words/told";
import { estimate, has, mass, t } from "../words/words";
import { keepRoom } from "./room";
import { Part } from "./screen";
import { Why } from "./why";

/** What may go in today, in figures large enough for arm's length, and the limit that binds. */
export function RationPart({ station, ration }: { station: Station; ration: Ration }) {
  const { holding } = useHere();
  const { figure, low, high, unit } = estimate(ration.kg, ration.low, ration.high, "kg");
  return (
    <Part title={t("app.ration.title")}>
      {ration.kg === 0 ? (
        <p class="lead">{t("app.round.ration_none")}</p>
      ) : (
        <p class="huge">
          {figure} <small>{unit}</small>
        </p>
      )}
      <p ref={keepRoom}>
        {ration.kg > 0 &&
          ration.side !== null &&
          `${t("app.ration.side", { side: sideName(station, ration.side) })} `}
        {ration.low !== ration.high && t("app.ration.range", { low, high, unit })}
      </p>
      <div class="limit soft" ref={keepRoom}>
        <p>{limitWords(ration)}</p>
        <Why
          station={station}
          because={ration.because}
          side={ration.side}
          more={<Limits ration={ration} />}
        />
      </div>
      {ration.add.map((one) => (
        <p key={one.material} ref={keepRoom}>
          {t("app.ration.add", { kg: one.kg, material: feedstockWords(one.material, holding) })}{" "}
          <span class="soft">{becauseWords(station, one.because)}</span>
        </p>
      ))}
    </Part>
  );
}

/** How much each limit by itself would let in, the one that binds marked; none where only one is known. */
function Limits({ ration }: { ration: Ration }) {
  const known = Object.entries(ration.because.values).filter(
    (one): one is [string, number] => typeof one[1] === "number" && has(`app.limit_of.${one[0]}`),
  );
  if (known.length < 2) return null;
  return (
    <>
      <h3>{t("app.why.limits")}</h3>
      <dl class="figures">
        {known.map(([name, kg]) => (
          <Fragment key={name}>
            <dt>
              {t(`app.limit_of.${name}`)}
              {name === ration.because.values["binds"] && <small>{t("app.why.binds")}</small>}
            </dt>
            <dd>{mass(kg)}</dd>
          </Fragment>
        ))}
      </dl>
    </>
  );
}
