import type { ShoalState } from "../generated/watershapes";
import type { Station } from "../log/holding";
import { to } from "../route";
import { figureWords, number, t } from "../words/words";
import { Glyph } from "./glyph";
import { Part } from "./screen";
import { Why } from "./why";

/** The fish of a pond by kind, and the way to the day on which some are taken. */
export function Shoals({ station }: { station: Station }) {
  if (station.type !== "pond") return null;
  const shoals = (station.plan?.state["shoals"] ?? []) as readonly ShoalState[];
  return (
    <>
      <a class="pick way-on" href={to("pond_day", station.id)}>
        <Glyph name="catch" />
        <span>{t("app.pond_day.open")}</span>
        <Glyph name="next" size={20} />
      </a>
      {shoals.length > 0 && (
        <Part title={t("app.pond.shoals")}>
          <ul class="plain-list rows">
            {shoals.map((one) => (
              <ShoalLine key={one.species} station={station} one={one} />
            ))}
          </ul>
        </Part>
      )}
    </>
  );
}

const WHERE = ["pond", "held", "killed", "died"] as const;

function ShoalLine({ station, one }: { station: Station; one: ShoalState }) {
  const there = WHERE.filter((where) => one[where] > 0);
  const said = there.map((where) => `${number(one[where])} ${t(`app.pond.${WORDS[where]}`)}`).join(", ");
  return (
    <li class="shoal">
      <p>
        <strong class="first-large">{one.species}</strong>{" "}
        <Why station={station} because={one.because}>
          {said || number(0)}
        </Why>
      </p>
      {one.grams !== null && (
        <p class="soft">
          <Why station={station} because={one.grams.because}>
            {figureWords(one.grams)} {t("app.pond.each")}
          </Why>
          {one.growth?.value && (
            <>
              {" · "}
              <Why station={station} because={one.growth.because}>
                {figureWords(one.growth)} {t("app.pond.growth")}
              </Why>
            </>
          )}
        </p>
      )}
    </li>
  );
}

const WORDS = { pond: "in_pond", held: "held", killed: "killed", died: "died" } as const;
