import { useComputed } from "@preact/signals";
import { shutOut } from "../access/me";
import { useHere } from "../here";
import { to } from "../route";
import { themeOf, turnSun } from "../theme";
import { ago, t } from "../words/words";
import { Glyph } from "./glyph";

/** The line on top: whose place this is, and in words how far everything is sent. */
export function Brow() {
  const { holding } = useHere();
  return (
    <header class="brow">
      <span class="brow-place">
        {holding.name.value || t("app.title")}
        {holding.invented.value && <span class="invented">{t("app.invented")}</span>}
      </span>
      <SunPress />
      <SyncLine />
    </header>
  );
}

/** Black on white for bright sun, and back: one press, on every screen, kept. */
function SunPress() {
  const { journal } = useHere();
  const on = useComputed(() => themeOf(journal) === "sun").value;
  return (
    <button
      type="button"
      class="sun-press"
      aria-pressed={on}
      title={t(on ? "app.theme.sun_on" : "app.theme.sun_off")}
      onClick={() => void turnSun(journal)}
    >
      <Glyph name="sun" size={24} />
      <span class="heard">{t("app.theme.sun")}</span>
    </button>
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
        ? t(shutOut(journal) && unsent === 0 ? "app.sync.not_paired" : "app.sync.blocked")
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
