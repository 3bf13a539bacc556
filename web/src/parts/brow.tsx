import { useHere } from "../here";
import { to } from "../route";
import { ago, t } from "../words/words";

/** The line on top: whose place this is, and in words how far everything is sent. */
export function Brow() {
  const { holding } = useHere();
  return (
    <header class="brow">
      <span class="brow-place">
        {holding.name.value || t("app.title")}
        {holding.invented.value && <span class="invented">{t("app.invented")}</span>}
      </span>
      <SyncLine />
    </header>
  );
}

function SyncLine() {
  const { journal } = useHere();
  const { phase } = journal.sync.value;
  const unsent = journal.unsent.value.length;
  const held = journal.held.value.length;
  const at = journal.syncedAt.value;
  const words =
    phase === "sending" && unsent > 0
      ? t("app.sync.sending", { unsent })
      : phase === "blocked"
        ? t("app.sync.blocked", { unsent })
        : unsent > 0
          ? t("app.sync.unsent", { unsent })
          : at === null
            ? t(phase === "sending" ? "app.sync.fetching" : "app.sync.never")
            : phase === "waiting"
              ? t("app.sync.no_service", { ago: ago(at) })
              : t("app.sync.all_sent");
  return (
    <a class={`sync sync-${held > 0 || phase === "blocked" ? "held" : phase}`} href={to("place", "sync")}>
      <span>{words}</span>
      {held > 0 && <strong>{t("app.sync.held", { held })}</strong>}
    </a>
  );
}
