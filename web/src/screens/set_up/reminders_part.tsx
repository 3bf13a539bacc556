import { useState } from "preact/hooks";
import { useHere } from "../../here";
import { Part } from "../../parts/screen";
import { to } from "../../route";
import { t } from "../../words/words";
import { CalendarPart } from "./calendar_part";
import { HOURS, ItemForm } from "./item_form";
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
      <Part title={t("app.remind.hours")}>
        <ZoneLine />
        <Hours />
      </Part>
      {/* Last: it comes when the browser has said what it can, and must move nothing. */}
      <PushPart />
    </>
  );
}

/** When this person is reminded, and when nothing rings for them. */
function Hours() {
  const { journal, holding } = useHere();
  const [open, show] = useState(false);
  const me = journal.kept.value["person"];
  const planned = holding.plan.value?.place.people.find((one) => one.id === me);
  if (typeof me !== "string") return <p>{t("app.remind.hours_about")}</p>;
  if (open) {
    return <ItemForm what="person" id={me} only={HOURS} done={() => show(false)} />;
  }
  return (
    <>
      <p>{planned ? t("app.remind.hours_are", { ...planned }) : t("app.remind.hours_about")}</p>
      <button type="button" class="pick" onClick={() => show(true)}>
        {t("app.set_up.change")}
      </button>
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
