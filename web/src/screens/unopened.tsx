import { t } from "../words/words";

/** The phone's own store can't be opened: say so, since nothing could be kept. */
export function Unopened({ error }: { error: unknown }) {
  return (
    <main class="frame unopened">
      <h1>{t("app.unopened.title")}</h1>
      <p>{t("app.unopened.text")}</p>
      <p class="soft">{error instanceof Error ? error.message : String(error)}</p>
      <button type="button" class="main" onClick={() => location.reload()}>
        {t("app.unopened.again")}
      </button>
    </main>
  );
}
