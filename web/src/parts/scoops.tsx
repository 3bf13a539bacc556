import { useState } from "preact/hooks";
import type { FieldRule } from "../log/knowledge";
import { number, readNumber, t } from "../words/words";
import { Glyph } from "./glyph";

/** Worms counted in one scoop after the other: a press a worm, a tick under the thumb. */
export function Scoops({
  label,
  rule,
  value,
  onChange,
}: {
  label: string;
  rule: FieldRule;
  value: unknown;
  onChange(value: unknown): void;
}) {
  const counts = (value as readonly number[] | undefined) ?? [];
  const [at, move] = useState(0);
  const [typed, type] = useState<string | null>(null);
  const now = counts[at] ?? 0;
  const write = (count: number) => {
    const next = [...counts];
    next[at] = Math.max(0, Math.round(count));
    onChange(next);
  };
  const put = (count: number) => {
    navigator.vibrate?.(12);
    type(null);
    write(count);
  };
  const full = counts.length >= (rule.most ?? Number.POSITIVE_INFINITY);
  return (
    <fieldset class="scoops">
      <legend>{label}</legend>
      <ol class="scoop-list">
        {[...counts, ...(at === counts.length ? [0] : [])].map((count, index) => (
          <li key={index}>
            <button type="button" aria-pressed={index === at} onClick={() => move(index)}>
              <small>{t("app.scoops.scoop", { n: index + 1 })}</small>
              {count}
            </button>
          </li>
        ))}
      </ol>
      <p class="heard" aria-live="polite">
        {now}
      </p>
      <input
        class="tally-now"
        type="text"
        inputMode="numeric"
        aria-label={t("app.scoops.typed", { n: at + 1 })}
        value={typed ?? number(now)}
        onFocus={(event) => event.currentTarget.select()}
        onInput={(event) => {
          const text = event.currentTarget.value;
          type(text);
          const count = text.trim() === "" ? 0 : readNumber(text);
          if (count !== undefined) write(count);
        }}
        onBlur={() => type(null)}
      />
      <div class="tally-press">
        <button type="button" aria-label={t("app.scoops.less")} onClick={() => put(now - 1)}>
          <Glyph name="minus" />
        </button>
        <button
          type="button"
          class="press-one"
          aria-label={t("app.scoops.more")}
          onClick={() => put(now + 1)}
        >
          <Glyph name="plus" size={40} />
        </button>
        <button
          type="button"
          disabled={full}
          onClick={() => {
            if (counts[at] === undefined) put(0);
            move(Math.max(at + 1, counts.length));
          }}
        >
          {t("app.scoops.next")}
        </button>
      </div>
    </fieldset>
  );
}
