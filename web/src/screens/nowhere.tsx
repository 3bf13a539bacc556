import { Head } from "../parts/screen";
import { to } from "../route";
import { t } from "../words/words";

/** A link to something that isn't there (any more). */
export function Nowhere() {
  return (
    <>
      <Head title={t("app.nowhere.title")} />
      <p>{t("app.nowhere.text")}</p>
      <p>
        <a class="main" href={to("round")}>
          {t("app.nowhere.back")}
        </a>
      </p>
    </>
  );
}
