import { useState } from "preact/hooks";
import { shutOut } from "../../access/me";
import { useHere } from "../../here";
import { STORE_FAILED } from "../../log/step";
import { Part } from "../../parts/screen";
import { to } from "../../route";
import { skewWords } from "../../words/skew";
import { entryWords } from "../../words/told";
import { ago, instant, t } from "../../words/words";
import { HeldList } from "./held_list";
import { PhotosRefused } from "./photos_refused";

const FIRST = 50;

/** How sending stands: what has gone, what waits, what is held, and the press that tries now. */
export function SyncPart() {
  const { journal, holding } = useHere();
  const { phase, refusal } = journal.sync.value;
  /** It was the phone that couldn't write the answer down; the service had said yes. */
  const full = refusal === STORE_FAILED;
  const at = journal.syncedAt.value;
  const unsent = journal.unsent.value;
  const [all, showAll] = useState(false);
  const shown = unsent.slice(all ? 0 : -FIRST).reverse();
  const skew = journal.skewS.value;
  return (
    <>
      <p class="lead">{t(full ? "app.not_saved" : `app.sync.phase.${phase}`)}</p>
      {refusal && !full && !shutOut(journal) && (
        <p class="finding">{t("app.sync.refusal", { code: refusal })}</p>
      )}
      <p class="soft">{at ? t("app.sync.last", { ago: ago(at) }) : t("app.sync.never_long")}</p>
      {skew !== 0 && <p class="notice">{skewWords("app.sync.skew", skew)}</p>}
      <PhotosRefused />
      <button type="button" class="main" disabled={phase === "sending"} onClick={() => journal.nudge("hand")}>
        {t("app.sync.now")}
      </button>
      <HeldList />
      {unsent.length > 0 && (
        <Part title={t("app.sync.waiting", { count: unsent.length })}>
          <ul class="plain-list rows">
            {shown.map(({ n, entry }) => (
              <li key={n}>
                <a class="row" href={to("entry", entry.id)}>
                  <span>
                    {entryWords(entry, holding)}
                    <small>
                      {instant(entry.at)}
                      {entry.station && ` · ${holding.station(entry.station)?.name ?? entry.station}`}
                    </small>
                  </span>
                </a>
              </li>
            ))}
          </ul>
          {shown.length < unsent.length && (
            <button type="button" class="plain" onClick={() => showAll(true)}>
              {t("app.sync.all_waiting", { count: unsent.length })}
            </button>
          )}
        </Part>
      )}
    </>
  );
}
