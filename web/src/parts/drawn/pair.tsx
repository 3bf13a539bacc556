import { t } from "../../words/words";
import { Glyph } from "../glyph";
import { SIGHTS } from "./sights";

/** A good sight beside a bad one: drawn, marked by tick and cross, and said in words. */
export function Pair({ sight }: { sight: string }) {
  const drawn = SIGHTS[sight];
  if (drawn === undefined) return null;
  return (
    <div class="pair">
      {(["good", "bad"] as const).map((one) => (
        <figure key={one} class={`sight sight-${one}`}>
          <svg viewBox="0 0 96 64" aria-hidden="true">
            <path class="sight-both" d={drawn.both} />
            <path d={drawn[one]} />
          </svg>
          <figcaption>
            <Glyph name={one === "good" ? "tick" : "cross"} size={22} />
            <span>
              <strong class="heard">{t(`app.day.${one}`)} </strong>
              {t(`app.day.${one}.${sight}`)}
            </span>
          </figcaption>
        </figure>
      ))}
    </div>
  );
}
