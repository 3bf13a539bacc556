import { useState } from "preact/hooks";
import { proposes } from "../../access/me";
import { said, useHere } from "../../here";
import type { Person } from "../../log/holding";
import { newId } from "../../log/new_id";
import { Glyph } from "../../parts/glyph";
import { t, today } from "../../words/words";

/** Who is holding this phone: their name goes with what is recorded. */
export function WhoPart() {
  const { journal, holding } = useHere();
  const [name, type] = useState("");
  const mine = journal.kept.value["person"];
  const gone = holding.people.value.filter((one) => one.lastDay !== "" && one.lastDay < today());
  const here = holding.people.value.filter((one) => !gone.includes(one));
  const join = async () => {
    const taken = new Set(holding.people.value.map((one) => one.id));
    const id = newId(name, taken, "person");
    await journal.save([
      { kind: "setup", what: "person", item: id, set: { name: name.trim(), role: "helper" } },
    ]);
    await journal.keep("person", id);
    said.value = { key: "app.saved" };
    type("");
  };
  return (
    <>
      <p>{t("app.who.about")}</p>
      <People people={here} mine={mine} />
      {gone.length > 0 && (
        <details class="more">
          <summary>{t("app.who.gone")}</summary>
          <People people={gone} mine={mine} />
        </details>
      )}
      {proposes(journal) && <p class="notice">{t("access.proposes")}</p>}
      <form
        onSubmit={(event) => {
          event.preventDefault();
          if (name.trim() !== "") void join();
        }}
      >
        <label class="typed">
          <span>{t("app.who.new")}</span>
          <input
            type="text"
            maxLength={60}
            value={name}
            onInput={(event) => type(event.currentTarget.value)}
          />
        </label>
        <button type="submit" class="main" disabled={name.trim() === ""}>
          {t("app.who.join")}
        </button>
      </form>
    </>
  );
}

function People({ people, mine }: { people: readonly Person[]; mine: unknown }) {
  const { journal } = useHere();
  return (
    <fieldset class="choice one-column">
      <legend>{t("app.who.choose")}</legend>
      {people.map((one) => (
        <button
          key={one.id}
          type="button"
          class={`pick ${one.id === mine ? "picked" : ""}`}
          aria-pressed={one.id === mine}
          onClick={() => void journal.keep("person", one.id)}
        >
          <span>
            {one.name}
            <small>{t(one.role === "host" ? "app.role.host" : "app.role.helper")}</small>
          </span>
          {one.id === mine && <Glyph name="tick" size={18} />}
        </button>
      ))}
    </fieldset>
  );
}
