import { useEffect, useLayoutEffect } from "preact/hooks";
import { said } from "../here";
import { t } from "../words/words";

/** How long the way back stays open by itself; the entry's own page keeps it open for good. */
const SHOWN_MS = 12_000;

/**
 * What was just done, with the way back: nobody is asked 'are you sure' beforehand. The keys that undo
 * everywhere do so here too, for those who would have far to go to the press.
 */
export function SaidLine() {
  const now = said.value;
  useEffect(() => {
    if (now === null) return;
    const timer = setTimeout(() => {
      said.value = null;
    }, SHOWN_MS);
    return () => clearTimeout(timer);
  }, [now]);
  // With the words, not after the next frame: whoever sees them may press at once.
  useLayoutEffect(() => {
    if (!now?.undo) return;
    const pressed = (event: KeyboardEvent) => {
      const typing = event.target instanceof Element && event.target.matches("input, textarea, select");
      if (typing || event.key.toLowerCase() !== "z" || !(event.ctrlKey || event.metaKey)) return;
      event.preventDefault();
      void undo(now.undo);
    };
    addEventListener("keydown", pressed);
    return () => removeEventListener("keydown", pressed);
  }, [now]);
  return (
    <div class="said" role="status" aria-live="polite">
      {now !== null && (
        <p>
          <span>
            {now.of && <small>{now.of}</small>} {t(now.key, now.values)}
          </span>
          {now.undo && (
            <button type="button" onClick={() => void undo(now.undo)}>
              {t("app.undo")}
            </button>
          )}
        </p>
      )}
    </div>
  );
}

async function undo(back: (() => Promise<unknown>) | undefined): Promise<void> {
  await back?.();
  said.value = { key: "app.taken_back" };
}
