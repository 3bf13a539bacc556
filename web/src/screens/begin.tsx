import { useState } from "preact/hooks";
import { said, useHere } from "../here";
import { check, type Finding } from "../log/check";
import type { Draft } from "../log/entry";
import { knowledge, stationTypes } from "../log/knowledge";
import { Choice } from "../parts/choice";
import { slug } from "../parts/inputs";
import { Head, Part } from "../parts/screen";
import { findingWords } from "../words/findings";
import { t } from "../words/words";
import { BEGIN_FIELDS } from "./begin_fields";
import { Field } from "./record/field";

type Answers = Readonly<Record<string, Readonly<Record<string, unknown>>>>;

/** An empty place: a few questions, and there is a round to walk. Works with no signal. */
export function BeginScreen() {
  const { journal, holding } = useHere();
  const [kept, keep] = useState<readonly string[]>([]);
  const [answers, answer] = useState<Answers>({});
  const [found, find] = useState<(Finding & { type: string }) | null>(null);
  const toggle = (type: string) =>
    keep(kept.includes(type) ? kept.filter((one) => one !== type) : [...kept, type]);
  const set = (type: string, name: string, value: unknown) =>
    answer({ ...answers, [type]: { ...answers[type], [name]: value } });
  const save = async () => {
    const drafts = setUps(kept, answers);
    for (const [index, type] of kept.entries()) {
      const wrong = check({ ...drafts[index], id: "x", at: "" } as Draft, holding.known.value);
      if (wrong !== null && !(wrong.ask && found?.ask)) return find({ ...wrong, type });
    }
    await journal.save(drafts);
    const me = String(answers["person"]?.["name"] ?? "");
    if (me !== "") await journal.keep("person", slug(me));
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
        <Part key={type} title={t(`app.choice.type.${type}`)}>
          {(BEGIN_FIELDS[type] ?? ["name"]).map((name) => (
            <Field
              key={name}
              name={name}
              rule={knowledge.setup["station"]?.[name] ?? { type: "text" }}
              kind="setup"
              stationType={type}
              value={answers[type]?.[name]}
              start={name === "name" ? t(`app.choice.type.${type}`) : undefined}
              wrong={found?.type === type && found.field === `set.${name}` ? found : null}
              onChange={(value) => set(type, name, value)}
            />
          ))}
        </Part>
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
          <div class="save-bar">
            <button type="submit" class="main">
              {t("app.begin.save", { count: kept.length })}
            </button>
          </div>
        </>
      )}
    </form>
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

function setUps(kept: readonly string[], answers: Answers): Draft[] {
  const stations = kept.map((type, index) => ({
    kind: "setup",
    what: "station",
    item: slug(String(answers[type]?.["name"] ?? "")) || type,
    set: { type, order: index + 1, name: t(`app.choice.type.${type}`), ...answers[type] },
  }));
  const place = answers["place"]?.["name"];
  const me = answers["person"]?.["name"];
  return [
    ...stations,
    ...(place ? [{ kind: "setup", what: "place", item: "place", set: { name: place } }] : []),
    ...(me
      ? [{ kind: "setup", what: "person", item: slug(String(me)) || "host", set: { name: me, role: "host" } }]
      : []),
  ];
}
