import { Glyph } from "../../parts/glyph";
import { t } from "../../words/words";

const CAUTIONS = [
  "castings_dust",
  "hands",
  "sharps",
  "water",
  "larvae_as_feed",
  "lifting",
  "bees",
  "rules",
] as const;

/** The usual cautions, in plain words; local rules and licensed practice come first. */
export function Cautions() {
  return (
    <>
      <p class="lead">{t("app.cautions.about")}</p>
      <ul class="cautions">
        {CAUTIONS.map((name) => (
          <li key={name}>
            <Glyph name="caution" size={22} />
            <p>{t(`app.cautions.${name}`)}</p>
          </li>
        ))}
      </ul>
    </>
  );
}
