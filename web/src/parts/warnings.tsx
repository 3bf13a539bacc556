import type { Limit } from "../generated/shapes";
import { useHere } from "../here";
import type { Station } from "../log/holding";
import { adviceWords, crossedWords, levelWords, warningWords } from "../words/planned";
import { t } from "../words/words";
import { Glyph } from "./glyph";
import { Why } from "./why";

const GLYPH = { danger: "danger", caution: "caution", note: "notice" } as const;

/** What asks for care: from readings the plan doesn't know yet (by its limits), then from the plan. */
export function Warnings({ station, brief = false }: { station: Station; brief?: boolean }) {
  const { holding } = useHere();
  const fresh = holding.warnings(station.id);
  const codes = new Set(fresh.map(({ limit }) => limit.code));
  const planned = (station.plan?.warnings ?? []).filter(
    (one) => !codes.has(one.code) && !(brief && one.level === "note"),
  );
  if (fresh.length + planned.length === 0) return null;
  return (
    <ul class={`warnings ${brief ? "brief" : ""}`}>
      {fresh.map((one) => (
        <WarningLine key={one.limit.code} level={one.limit.level} words={crossedWords(station, one)}>
          {!brief && <p class="soft">{t("app.warn.from_limit")}</p>}
        </WarningLine>
      ))}
      {planned.map((one) => (
        <WarningLine
          key={`${one.code}${one.side ?? ""}`}
          level={one.level}
          words={warningWords(station, one)}
        >
          {!brief && one.remedies.length > 0 && (
            <ol class="remedies">
              {one.remedies.map((key) => (
                <li key={key}>{adviceWords(station, key)}</li>
              ))}
            </ol>
          )}
          {!brief && <Why station={station} because={one.because} side={one.side} />}
        </WarningLine>
      ))}
    </ul>
  );
}

export function WarningLine({
  level,
  words,
  children,
}: {
  level: Limit["level"];
  words: string;
  children?: preact.ComponentChildren;
}) {
  return (
    <li class={`warning warning-${level}`}>
      <Glyph name={GLYPH[level]} />
      <div>
        <p>
          <strong class="level">{levelWords(level)}</strong> {words}
        </p>
        {children}
      </div>
    </li>
  );
}
