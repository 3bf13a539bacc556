import { useState } from "preact/hooks";
import { said, useHere } from "../../here";
import { newId } from "../../log/new_id";
import { t } from "../../words/words";

/** Who is holding this phone: their name goes with what is recorded. */
export function WhoPart() {
  const { journal, holding } = useHere();
  const [name, type] = useState("");
  const mine = journal.kept.value["person"];
  const be = (id: string) => void journal.keep("person", id);
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
      <fieldset class="choice one-column">
        <legend>{t("app.who.choose")}</legend>
        {holding.people.value.map((one) => (
          <button
            key={one.id}
            type="button"
            class={`pick ${one.id === mine ? "picked" : ""}`}
            aria-pressed={one.id === mine}
            onClick={() => be(one.id)}
          >
            <span>
              {one.name}
              <small>{t(one.role === "host" ? "app.role.host" : "app.role.helper")}</small>
            </span>
          </button>
        ))}
      </fieldset>
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
