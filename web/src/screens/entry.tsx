import { useState } from "preact/hooks";
import { said, useHere } from "../here";
import type { Entry } from "../log/entry";
import { ENVELOPE } from "../log/knowledge";
import { liesAhead } from "../log/seen";
import { PhotoRow } from "../parts/photo";
import { Head } from "../parts/screen";
import { leave, to } from "../route";
import { sideName } from "../words/planned";
import { fieldName, fieldWords } from "../words/told";
import { has, instant, t } from "../words/words";
import { Mend } from "./mend";
import { Nowhere } from "./nowhere";

/** One entry: what it says, and the two ways to put it right, which are entries of their own. */
export function EntryScreen({ id }: { id: string }) {
  const { journal } = useHere();
  const entry = journal.entries.value.find((one) => one.id === id);
  if (entry === undefined) return <Nowhere />;
  return <Shown entry={entry} />;
}

function Shown({ entry }: { entry: Entry }) {
  const { journal, holding } = useHere();
  const [mending, mend] = useState(false);
  const station = entry.station ? holding.station(entry.station) : undefined;
  const by = holding.people.value.find((one) => one.id === entry.by)?.name ?? entry.by;
  const unsent = journal.unsent.value.some(
    (row) => row.entry.id === entry.id || row.entry["of"] === entry.id,
  );
  const kind = has(`app.kind.${entry.kind}`) ? `app.kind.${entry.kind}` : "app.kind.other";
  const takeBack = async () => {
    const from = location.hash;
    await journal.retract(entry.id);
    said.value = { key: "app.taken_back" };
    leave(station ? ["station", station.id] : ["round"], from);
  };
  return (
    <>
      <Head title={t(kind, { kind: entry.kind })}>
        {station && (
          <p class="lead">
            <a href={to("station", station.id)}>{station.name}</a>
            {entry.side && ` · ${sideName(station, entry.side)}`}
          </p>
        )}
      </Head>
      <dl class="figures">
        {Object.entries(entry)
          .filter(([name, value]) => !ENVELOPE.has(name) && value !== null && value !== undefined)
          .map(([name, value]) => (
            <>
              <dt>{fieldName(name, entry.kind)}</dt>
              <dd>{fieldWords(entry.kind, name, value, holding)}</dd>
            </>
          ))}
        <dt>{t("app.field.at")}</dt>
        <dd>{instant(entry.at)}</dd>
        {by && (
          <>
            <dt>{t("app.field.by")}</dt>
            <dd>{by}</dd>
          </>
        )}
        {entry.note && (
          <>
            <dt>{t("app.record.note")}</dt>
            <dd>{entry.note}</dd>
          </>
        )}
      </dl>
      <PhotoRow names={entry["photos"]} />
      {liesAhead(entry) && <p class="notice">{t("app.entry.ahead")}</p>}
      <p class="soft">{t(unsent ? "app.entry.unsent_long" : "app.entry.sent_long")}</p>
      {mending ? (
        <Mend
          entry={entry}
          done={() => mend(false)}
          save={async (change) => {
            await journal.amend(entry.id, change);
            said.value = { key: "app.mended" };
          }}
        />
      ) : (
        <div class="buttons">
          <button type="button" class="pick" onClick={() => mend(true)}>
            {t("app.entry.mend")}
          </button>
          <button type="button" class="pick" onClick={() => void takeBack()}>
            {t("app.entry.take_back")}
          </button>
        </div>
      )}
    </>
  );
}
