import { useState } from "preact/hooks";
import { said, unsaved, useHere } from "../here";
import { check, type Finding } from "../log/check";
import type { Draft } from "../log/entry";
import { knowledge, stationTypes } from "../log/knowledge";
import { Choice } from "../parts/choice";
import { Glyph } from "../parts/glyph";
import { Head, Part } from "../parts/screen";
import { StationStone } from "../parts/stone";
import { findingWords } from "../words/findings";
import { has, t } from "../words/words";
import { type Answers, ASKED, GOING, setUps, startedAt } from "./first_set_up";
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
    for (const draft of drafts) {
      const type =
        draft["what"] === "station" ? String((draft["set"] as { type: string }).type) : String(draft["what"]);
      const wrong = check({ ...draft, id: "x", at: "" } as Draft, holding.known.value);
      if (wrong !== null && !(wrong.ask && found?.ask)) return find({ ...wrong, type });
    }
    await journal.save(drafts);
    const me = drafts.find((draft) => draft["what"] === "person");
    if (me) await journal.keep("person", me["item"]);
    unsaved.value = false;
    said.value = { key: "app.begin.saved" };
    // The round stands at the same address as the questions did: nothing else brings its beginning into view.
    scrollTo(0, 0);
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
      <Gives kept={kept} />
      {kept.map((type) => (
        <StationQuestions
          key={type}
          type={type}
          answers={answers[type] ?? {}}
          found={found?.type === type ? found : null}
          onAnswer={(name, value) => set(type, name, value)}
        />
      ))}
      {kept.some((type) => FED_BY_CONTAINER.has(type)) && (
        <Part title={t("app.begin.carry")}>
          {(["name", "volume"] as const).map((name) => (
            <div key={name} class="asked">
              <Field
                {...asked("container", name)}
                rule={knowledge.setup["container"]?.[name] ?? { type: "text" }}
                value={answers["container"]?.[name]}
                start={name === "name" ? t("app.begin.container") : undefined}
                wrong={found?.type === "container" && found.field === `set.${name}` ? found : null}
                onChange={(value) => set("container", name, value)}
              />
            </div>
          ))}
          <Changes type="container" name="volume" value={answers["container"]?.["volume"]} />
        </Part>
      )}
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
          {found && !asks(found) && (
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
        <details class="more" open={later.some((name) => questions.found?.field === `set.${name}`)}>
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
        <div key={name} class="asked">
          {name === "started" ? (
            <Started type={type} value={answers[name]} onAnswer={(value) => onAnswer(name, value)} />
          ) : (
            <Field
              name={name}
              rule={knowledge.setup["station"]?.[name] ?? { type: "text" }}
              kind="setup"
              stationType={type}
              value={answers[name]}
              start={name === "name" ? t(`app.choice.type.${type}`) : undefined}
              wrong={found?.field === `set.${name}` ? found : null}
              onChange={(value) => onAnswer(name, value)}
            />
          )}
          <Changes type={type} name={name} value={answers[name]} />
        </div>
      ))}
    </>
  );
}

/** How long it has been going, in one press. */
function Started({
  type,
  value,
  onAnswer,
}: {
  type: string;
  value: unknown;
  onAnswer(value: unknown): void;
}) {
  const [going, go] = useState("");
  return (
    <div class="field">
      <Choice
        legend={t("app.begin.started", { type })}
        chosen={[value === undefined ? "" : going]}
        onChoose={(one) => {
          go(one);
          onAnswer(one === going && value !== undefined ? undefined : startedAt(one, new Date()));
        }}
        choices={Object.keys(GOING).map((one) => ({ value: one, words: t(`app.begin.started.${one}`) }))}
      />
    </div>
  );
}

/** What an answer changes; or what is taken as long as there is none. */
function Changes({ type, name, value }: { type: string; name: string; value: unknown }) {
  const state = value === undefined || value === "" ? "open" : "set";
  const key = [`app.begin.${state}.${type}.${name}`, `app.begin.${state}.${name}`].find(has);
  return key ? (
    <p class={`changes changes-${state}`} aria-live="polite">
      <Glyph name={state === "set" ? "tick" : "notice"} size={20} />
      <span>{t(key)}</span>
    </p>
  ) : null;
}

/** What there will be: the stations on the round, each with what it will tell. */
function Gives({ kept }: { kept: readonly string[] }) {
  const shown = kept.length > 0 ? kept : stationTypes;
  return (
    <section class="gives" aria-labelledby="gives">
      <h2 id="gives">{t("app.begin.gives", { count: kept.length })}</h2>
      <ul class="plain-list" aria-live="polite">
        {shown.map((type) => (
          <li key={type} class={kept.includes(type) ? "given" : ""}>
            <StationStone type={type} />
            <span>
              <strong>{t(`app.choice.type.${type}`)}</strong>
              <small>{t(`app.begin.gives.${type}`)}</small>
            </span>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** Whether a question of a station stands where the finding belongs. */
const asks = (found: Finding & { type: string }): boolean => {
  const { first, later } = ASKED[found.type] ?? { first: [], later: [] };
  return [...first, ...later].some((name) => found.field === `set.${name}`);
};

/** Where what is carried there in pails goes. */
const FED_BY_CONTAINER: ReadonlySet<string> = new Set(["bed", "bin"]);

const asked = (stationType: string, name: string) => ({
  name: stationType === "place" ? "place_name" : name,
  rule: { type: "text" },
  kind: "setup",
  stationType,
  start: undefined,
  wrong: null,
});
