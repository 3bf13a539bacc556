import { signal } from "@preact/signals";
import { me, shutOut, stayOver } from "../access/me";
import { useHere } from "../here";
import { route, to } from "../route";
import { GRAVE_SKEW_S, skewWords } from "../words/skew";
import { day, t } from "../words/words";

const read = signal(false);

/** What stands between this phone and its place, in plain words, and what to do about it. */
export function WayIn() {
  const { journal, holding } = useHere();
  const [screen, section] = route.value;
  const who = me(journal);
  if (screen === "pair") return null;
  if (shutOut(journal)) {
    // With no place on the phone yet, the screen itself asks for the code.
    if (screen !== "place" && holding.stations.value.length === 0) return null;
    return (
      <p class="notice" role="status">
        <span>{t("access.not_paired", { unsent: journal.unsent.value.length })}</span>
        <a href={to("pair")}>{t("access.pair")}</a>
      </p>
    );
  }
  if (who !== null && stayOver(who)) {
    return (
      <p class="notice" role="status">
        {who.last_day ? t("access.stay_over_since", { day: day(who.last_day) }) : t("access.stay_over")}
      </p>
    );
  }
  const skew = journal.skewS.value;
  if (Math.abs(skew) >= GRAVE_SKEW_S && !(screen === "place" && section === "sync")) {
    return (
      <p class="notice" role="status">
        {skewWords("app.sync.skew", skew)}
      </p>
    );
  }
  if (isSecureContext || read.value) return null;
  return (
    <p class="notice" role="status">
      <span>{t("access.insecure")}</span>
      <button
        type="button"
        class="plain"
        onClick={() => {
          read.value = true;
        }}
      >
        {t("access.understood")}
      </button>
    </p>
  );
}
