import { useState } from "preact/hooks";
import { said, useHere } from "../../here";
import type { Held } from "../../log/entry";
import { Part } from "../../parts/screen";
import { findingWords } from "../../words/findings";
import { entryWords, stationName } from "../../words/told";
import { has, instant, t } from "../../words/words";
import { Mend } from "../mend";

/** Entries the service set aside: what to mend in each, and the choice to mend it or let it go. */
export function HeldList() {
  const { journal } = useHere();
  const held = journal.held.value;
  if (held.length === 0) return null;
  return (
    <Part title={t("app.held.title", { count: held.length })}>
      <p>{t("app.held.about")}</p>
      <ul class="plain-list held">
        {held.map((one) => (
          <HeldLine key={one.id} one={one} />
        ))}
      </ul>
    </Part>
  );
}

function HeldLine({ one }: { one: Held }) {
  const { journal, holding } = useHere();
  const [mending, mend] = useState(false);
  const values = one.values as Record<string, string | number>;
  const known = has(`app.problem.${one.code}`);
  return (
    <li>
      <p>
        <strong>{entryWords(one.entry, holding)}</strong>
        <span class="soft">
          {" "}
          {[stationName(one.entry, holding), instant(one.entry.at)].filter(Boolean).join(" · ")}
        </span>
      </p>
      <p class="finding">{known ? findingWords({ code: one.code, field: one.field, values }) : one.why}</p>
      {mending ? (
        <Mend
          entry={one.entry}
          done={() => mend(false)}
          save={async (change) => {
            await journal.mend(one, change);
            said.value = { key: "app.mended" };
          }}
        />
      ) : (
        <div class="buttons">
          <button type="button" class="pick" onClick={() => mend(true)}>
            {t("app.held.mend")}
          </button>
          <button type="button" class="pick" onClick={() => journal.nudge("hand")}>
            {t("app.held.retry")}
          </button>
          <button type="button" class="pick" onClick={() => void journal.letGo(one)}>
            {t("app.held.drop")}
          </button>
        </div>
      )}
    </li>
  );
}
