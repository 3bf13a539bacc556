import { useHere } from "../here";
import { openReminders } from "../log/reminders";
import { openRoster } from "../log/roster";
import { to } from "../route";
import { doneBy } from "../words/reminded";
import { t } from "../words/words";
import { Glyph } from "./glyph";
import { Walkers } from "./walkers";

/**
 * Who walks and how much asks for somebody, folded into one line so that the stations stand in the first screen; a
 * press opens the ways to both. Who is alone here has only the one way. Under it the way to the steps of the day.
 */
export function Today() {
  const { journal, holding } = useHere();
  const roster = openRoster(journal, holding).value;
  const { now } = openReminders(journal, doneBy).value;
  const asks = now.length > 0 ? t("app.remind.line", { count: now.length }) : "";
  const names = roster.walkers.map((one) => one.name).join(t("app.comma"));
  const walks = names === "" ? t("app.roster.nobody") : t("app.roster.walks", { names });
  return (
    <>
      {roster.here.length > 1 ? (
        <details class="more today">
          <summary>{asks === "" ? walks : [names, asks].filter(Boolean).join(" · ")}</summary>
          {asks !== "" && (
            <p class="notice">
              <a href={to("reminders")}>{asks}</a>
            </p>
          )}
          <Walkers named={asks !== ""} />
        </details>
      ) : (
        asks !== "" && (
          <p class="today">
            <a href={to("reminders")}>{asks}</a>
          </p>
        )
      )}
      <a class="pick to-day" href={to("day")}>
        <Glyph name="day" />
        <span>{t("app.day.title")}</span>
        <Glyph name="next" size={20} />
      </a>
    </>
  );
}
