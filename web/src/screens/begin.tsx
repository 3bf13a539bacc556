import { useState } from "preact/hooks";
import { said, unsaved, useHere } from "../here";
import { check, type Finding } from "../log/check";
import type { Draft } from "../log/entry";
import { knowledge, stationTypes } from "../log/knowledge";
import { Choice } from "../parts/choice";
import { Head, Part } from "../parts/screen";
import { findingWords } from "../words/findings";
import { t } from "../words/words";
import { type Answers, ASKED, setUps } from "./first_set_up";
import { Field } from "./record/field";

/** An empty place: a few questions, and there is a round to walk. Works with no signal. */
export function BeginScreen() {
  const { journal, holding } = useHere();
  const [kept, keep] = useState<readonly string[]>([]);
  const [answers, answer] = useState<Answers>({});
  const [found, find] = useState<(Finding & { type: string }) | null>(null);
  const toggle = (type: string) =>
    keep(kept.includes(type) ? kept.filter((one) => one !== type) : [...kept, type]);
  const set = (type: string, name: string, value: unknown) => {
    answer({ ...answers, [type]: { ...answers[type], [name]: value } });
    unsaved.value = true;
  };
  const save = async () => {
    const drafts = setUps(kept, answers);
    for (const [index, type] of kept.entries()) {
      const wrong = check({ ...drafts[index], id: "x", at: "" } as Draft, holding.known.value);
      if (wrong !== null && !(wrong.ask && found?.ask)) return find({ ...wrong, type });
    }
    await journal.save(drafts);
    const me = drafts.find((draft) => draft["what"] === "person");
    if (me) await journal.keep("person", me["item"]);
    unsaved.value = false;
    said.value = { key: "app.begin.saved" };
  };
  return (
    <form
      class="record"
      onSubmit={(event) => {
        event.preventDefault();
        void save();
      }}
    >
      <Head title={t("app.begin.title")}>
        <p class="lead">{t("app.begin.about")}</p>
      </Head>
      <Choice
        legend={t("app.begin.what")}
        many
        chosen={kept}
        onChoose={toggle}
        choices={stationTypes.map((type) => ({
          value: type,
          words: t(`app.choice.type.${type}`),
          glyph: type,
        }))}
      />
      {kept.map((type) => (
        <StationQuestions
          key={type}
          type={type}
          answers={answers[type] ?? {}}
          found={found?.type === type ? found : null}
          onAnswer={(name, value) => set(type, name, value)}
        />
      ))}
      {kept.length > 0 && (
        <>
          <Part title={t("app.begin.people")}>
            <Field
              {...asked("place", "name")}
              value={answers["place"]?.["name"]}
              onChange={(value) => set("place", "name", value)}
            />
            <Field
              {...asked("person", "my_name")}
              value={answers["person"]?.["name"]}
              onChange={(value) => set("person", "name", value)}
            />
          </Part>
          {found && (
            <p class="finding" role="alert">
              {findingWords(found)}
            </p>
          )}
          <div class="end">
            <button type="submit" class="main">
              {t("app.begin.save", { count: kept.length })}
            </button>
          </div>
        </>
      )}
    </form>
  );
}

type Questions = {
  type: string;
  answers: Readonly<Record<string, unknown>>;
  found: Finding | null;
  onAnswer(name: string, value: unknown): void;
};

function StationQuestions(questions: Questions) {
  const { type } = questions;
  const { first, later } = ASKED[type] ?? { first: ["name"], later: [] };
  return (
    <Part title={t(`app.choice.type.${type}`)}>
      <Asked {...questions} names={first} />
      {later.length > 0 && (
        <details class="more">
          <summary>{t("app.begin.more")}</summary>
          <Asked {...questions} names={later} />
        </details>
      )}
    </Part>
  );
}

function Asked({ type, answers, found, onAnswer, names }: Questions & { names: readonly string[] }) {
  return (
    <>
      {names.map((name) => (
        <Field
          key={name}
          name={name}
          rule={knowledge.setup["station"]?.[name] ?? { type: "text" }}
          kind="setup"
          stationType={type}
          value={answers[name]}
          start={name === "name" ? t(`app.choice.type.${type}`) : undefined}
          wrong={found?.field === `set.${name}` ? found : null}
          onChange={(value) => onAnswer(name, value)}
        />
      ))}
    </>
  );
}

const asked = (stationType: string, name: string) => ({
  name: stationType === "place" ? "place_name" : name,
  rule: { type: "text" },
  kind: "setup",
  stationType,
  start: undefined,
  wrong: null,
});
