import { useEffect } from "preact/hooks";
import { said } from "../here";
import { t } from "../words/words";

/** How long the way back stays open by itself; the entry's own page keeps it open for good. */
const SHOWN_MS = 12_000;

/** What was just done, with the way back: nobody is asked 'are you sure' beforehand. */
export function SaidLine() {
  const now = said.value;
  useEffect(() => {
    if (now === null) return;
    const timer = setTimeout(() => {
      said.value = null;
    }, SHOWN_MS);
    return () => clearTimeout(timer);
  }, [now]);
  return (
    <div class="said" role="status" aria-live="polite">
      {now !== null && (
        <p>
          <span>{t(now.key, now.values)}</span>
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
