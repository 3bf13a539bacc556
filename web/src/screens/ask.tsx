import { useState } from "preact/hooks";
import { said, unsaved, useHere } from "../here";
import { questions } from "../log/questions";
import { LongText } from "../parts/inputs";
import { Head } from "../parts/screen";
import { to } from "../route";
import { instant, t } from "../words/words";
import { Nowhere } from "./nowhere";

/** A question with its answers, and room for one more. */
export function AskScreen({ id }: { id: string }) {
  const { journal, holding } = useHere();
  const [text, type] = useState("");
  const all = questions(journal.entries.value, new Date(0));
  const found = all.find(({ asked }) => asked.id === id);
  if (found === undefined) return <Nowhere />;
  const { asked, answers } = found;
  const name = (by: string | undefined) =>
    holding.people.value.find((one) => one.id === by)?.name || t("app.ask.somebody");
  const station = holding.station(asked.station ?? "");
  const save = async () => {
    const [entry] = await journal.save([{ kind: "answer", of: id, text: text.trim() }]);
    if (entry) said.value = { key: "app.saved", undo: () => journal.retract(entry.id) };
    unsaved.value = false;
    type("");
  };
  return (
    <form
      class="record"
      onSubmit={(event) => {
        event.preventDefault();
        if (text.trim() !== "") void save();
      }}
    >
      <Head title={String(asked["text"])}>
        <p class="soft">
          {t("app.ask.asked", { name: name(asked.by), at: instant(asked.at) })}{" "}
          {station && <a href={to("station", station.id)}>{station.name}</a>}
        </p>
        {asked.note && <p>{asked.note}</p>}
      </Head>
      {answers.length === 0 && <p>{t("app.ask.waiting")}</p>}
      <ul class="plain-list rows">
        {answers.map((one) => (
          <li key={one.id}>
            <a class="row" href={to("entry", one.id)}>
              <span>
                {String(one["text"])}
                <small>{t("app.ask.asked", { name: name(one.by), at: instant(one.at) })}</small>
              </span>
            </a>
          </li>
        ))}
      </ul>
      <LongText
        label={t("app.ask.answer")}
        value={text}
        onChange={(next) => {
          type(String(next ?? ""));
          unsaved.value = next !== undefined;
        }}
      />
      <div class="end">
        <button type="submit" class="main" disabled={text.trim() === ""}>
          {t("app.record.save")}
        </button>
      </div>
    </form>
  );
}
