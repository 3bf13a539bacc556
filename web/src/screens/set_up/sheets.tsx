import { t } from "../../words/words";

const SHEETS = ["stickers", "handover"] as const;

/** Pages to print; the service draws them, so they want signal. */
export function SheetsPart() {
  return (
    <>
      <p>{t("app.sheets.about")}</p>
      <ul class="plain-list rows">
        {SHEETS.map((name) => (
          <li key={name}>
            <a class="row" href={`/api/sheets/${name}.html`} target="_blank" rel="noreferrer">
              <span>
                <strong>{t(`app.sheets.${name}`)}</strong>
                <small>{t(`app.sheets.${name}.about`)}</small>
              </span>
            </a>
          </li>
        ))}
      </ul>
    </>
  );
}
