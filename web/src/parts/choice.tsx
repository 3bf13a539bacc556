import { Glyph } from "./glyph";

type One = {
  value: string;
  words: string;
  under?: string;
  glyph?: string;
  /** Of the words, where it isn't the page's. */
  language?: string;
};

/** Three of so few letters go in one row. */
const SHORT = 12;

/** A few things to choose from, each as large as a thumb; what is chosen is filled and ticked. */
export function Choice({
  legend,
  choices,
  chosen,
  onChoose,
  many = false,
  narrow = false,
  plain = false,
}: {
  legend: string;
  choices: readonly One[];
  chosen: readonly string[];
  onChoose(value: string): void;
  many?: boolean;
  /** Words so short that four go in a row. */
  narrow?: boolean;
  /** What is asked goes without saying; it is heard, not shown. */
  plain?: boolean;
}) {
  const drawn = choices.some((one) => one.glyph);
  const three = choices.length === 3 && choices.every((one) => one.words.length <= SHORT && !one.under);
  return (
    <fieldset class={`choice ${drawn ? "drawn" : narrow ? "narrow" : three ? "three" : ""}`}>
      <legend class={plain ? "heard" : ""}>{legend}</legend>
      {choices.map((one) => {
        const picked = chosen.includes(one.value);
        return (
          <button
            key={one.value}
            type="button"
            class={`pick ${picked ? "picked" : ""}`}
            aria-pressed={picked}
            data-many={many}
            data-value={one.value}
            onClick={() => onChoose(one.value)}
          >
            {one.glyph && <Glyph name={one.glyph} size={36} />}
            <span lang={one.language}>
              {one.words}
              {one.under && <small>{one.under}</small>}
            </span>
            {picked && <Glyph name="tick" size={18} />}
          </button>
        );
      })}
    </fieldset>
  );
}
