import { useHere } from "../../here";
import { Choice } from "../../parts/choice";
import { LANGUAGES, type Language, languageFor } from "../../words/language";
import { t } from "../../words/words";

/** Which language this phone speaks; nobody else's changes with it. */
export function LanguagePart() {
  const { journal } = useHere();
  const chosen = languageFor(journal.kept.value["language"], navigator.languages);
  return (
    <>
      <p>{t("app.language.about")}</p>
      <Choice
        legend={t("app.place.language")}
        chosen={[chosen]}
        onChoose={(one) => void journal.keep("language", one)}
        choices={(Object.keys(LANGUAGES) as Language[]).map((one) => ({
          value: one,
          words: LANGUAGES[one],
          language: one,
        }))}
      />
    </>
  );
}
