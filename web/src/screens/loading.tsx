import { useEffect } from "preact/hooks";
import { Head } from "../parts/screen";
import { t, today, weekday } from "../words/words";

/** The first call to the service is under way: perhaps there is a place already. */
export function LoadingScreen() {
  useEffect(() => {
    // The first day a page writes takes as long as half the round: now, while there is nothing else to do.
    const soon = setTimeout(() => weekday(today()));
    return () => clearTimeout(soon);
  }, []);
  return (
    <>
      <Head title={t("app.loading.title")} />
      <p class="lead">{t("app.loading.text")}</p>
    </>
  );
}
