import { useHere } from "../../here";
import { Part } from "../../parts/screen";
import { to } from "../../route";
import { t } from "../../words/words";
import { CalendarPart } from "./calendar_part";
import { PushPart } from "./push_part";

/** Where reminders go beside the app: the list, a calendar, and by whose clock. */
export function RemindersPart() {
  const { journal } = useHere();
  return (
    <>
      <p>
        <a href={to("reminders")}>{t("app.remind.to_list")}</a>
      </p>
      {journal.kept.value["person"] === undefined && (
        <p class="notice">
          <a href={to("place", "who")}>{t("app.remind.who_first")}</a>
        </p>
      )}
      <CalendarPart />
      <PushPart />
      <Part title={t("app.remind.hours")}>
        <ZoneLine />
        <p>{t("app.remind.hours_about")}</p>
        <p>
          <a href={to("place", "people")}>{t("app.remind.to_people")}</a>
        </p>
      </Part>
    </>
  );
}

/** The place's time zone; where none is set, the phone's own is offered. */
function ZoneLine() {
  const { journal, holding } = useHere();
  const set = holding.item("place", "place")?.fields["time_zone"];
  const own = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if (typeof set === "string" && set !== "") return <p>{t("app.remind.zone", { zone: set })}</p>;
  const save = () => journal.save([{ kind: "setup", what: "place", item: "place", set: { time_zone: own } }]);
  return (
    <p class="notice">
      {t("app.remind.no_zone")}
      <button type="button" class="pick" onClick={() => void save()}>
        {t("app.remind.use_zone", { zone: own })}
      </button>
    </p>
  );
}
