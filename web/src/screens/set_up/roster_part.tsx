import { useState } from "preact/hooks";
import { said, useHere } from "../../here";
import type { Person } from "../../log/holding";
import { knowledge } from "../../log/knowledge";
import { openRoster } from "../../log/roster";
import { Choice } from "../../parts/choice";
import { Part } from "../../parts/screen";
import { choiceWords } from "../../words/told";
import { t, weekday } from "../../words/words";

const WEEK = knowledge.setup["person"]?.["walks"]?.choices ?? [];

/** The week: who walks on which day, and each person's own days. */
export function RosterPart() {
  const { journal, holding } = useHere();
  const roster = openRoster(journal, holding).value;
  const name = (id: string) => holding.people.value.find((one) => one.id === id)?.name ?? id;
  return (
    <>
      <p>{t("app.roster.about")}</p>
      {roster.days.length > 0 && (
        <ul class="plain-list rows">
          {roster.days.map((one) => (
            <li key={one.day} class="row">
              <span>
                <strong>{weekday(one.day)}</strong>
                <small>
                  {one.people.length === 0
                    ? t("app.roster.nobody_that_day")
                    : one.people.map(name).join(t("app.comma"))}
                  {one.handed_over && ` · ${t("app.roster.was_handed")}`}
                </small>
              </span>
            </li>
          ))}
        </ul>
      )}
      <Part title={t("app.roster.days_of")}>
        {roster.here.map((one) => (
          <Days key={one.id} person={one} />
        ))}
      </Part>
    </>
  );
}

function Days({ person }: { person: Person }) {
  const { journal, holding } = useHere();
  const there = holding.item("person", person.id)?.fields["walks"];
  const [chosen, choose] = useState<readonly string[]>(Array.isArray(there) ? there.map(String) : []);
  const save = async () => {
    const walks = WEEK.filter((day) => chosen.includes(day));
    const set = { walks: walks.length > 0 ? walks : null };
    const [entry] = await journal.save([{ kind: "setup", what: "person", item: person.id, set }]);
    if (entry) said.value = { key: "app.saved", undo: () => journal.retract(entry.id) };
  };
  return (
    <details class="more">
      <summary>{person.name}</summary>
      <Choice
        legend={t("app.field.walks")}
        many
        chosen={chosen}
        onChoose={(day) =>
          choose(chosen.includes(day) ? chosen.filter((one) => one !== day) : [...chosen, day])
        }
        choices={WEEK.map((day) => ({ value: day, words: choiceWords("walks", day) }))}
      />
      <button type="button" class="main" onClick={() => void save()}>
        {t("app.record.save")}
      </button>
    </details>
  );
}
