import type { ComponentChildren } from "preact";
import { route, to } from "../route";
import { t } from "../words/words";
import { Glyph } from "./glyph";

const SCREENS = ["round", "ahead", "tally", "place"] as const;

/** The screen of the foot a deeper one belongs to. */
const HOME: Readonly<Record<string, string>> = {
  station: "round",
  entry: "round",
  day: "round",
  ask: "round",
  pond_day: "round",
  circle: "tally",
};

/** The way about, within reach of the thumb; a screen may lay its own row of stones on top. */
export function Foot({ children }: { children?: ComponentChildren }) {
  const [screen = "round", , action] = route.value;
  if ((screen === "station" && action === "record") || screen === "bucket") return null;
  const here = HOME[screen] ?? screen;
  return (
    <nav class="foot" aria-label={t("app.nav.label")}>
      {children}
      <ul>
        {SCREENS.map((name) => (
          <li key={name}>
            <a href={to(name)} aria-current={here === name ? "page" : undefined}>
              <Glyph name={name} />
              <span>{t(`app.nav.${name}`)}</span>
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}
