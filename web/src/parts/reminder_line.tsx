import { useHere } from "../here";
import { openReminders } from "../log/reminders";
import { to } from "../route";
import { doneBy } from "../words/reminded";
import { t } from "../words/words";

/** How many matters ask for somebody now, and the way to them; nothing where none does. */
export function ReminderLine() {
  const { journal } = useHere();
  const { now } = openReminders(journal, doneBy).value;
  if (now.length === 0) return null;
  return (
    <p class="notice">
      <a href={to("reminders")}>{t("app.remind.line", { count: now.length })}</a>
    </p>
  );
}
