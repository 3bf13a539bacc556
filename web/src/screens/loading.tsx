import { Head } from "../parts/screen";
import { t } from "../words/words";

/** The first call to the service is under way: perhaps there is a place already. */
export function LoadingScreen() {
  return (
    <>
      <Head title={t("app.loading.title")} />
      <p class="lead">{t("app.loading.text")}</p>
    </>
  );
}
