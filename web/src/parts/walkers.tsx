import { useRef } from "preact/hooks";
import { said, useHere } from "../here";
import { openRoster } from "../log/roster";
import { openRounds } from "../log/round";
import { t, today } from "../words/words";

/** Who walks the round today, where that isn't said (`named`) above, and the way to hand it to somebody else. */
export function Walkers({ named }: { named: boolean }) {
  const { journal, holding } = useHere();
  const sheet = useRef<HTMLDialogElement>(null);
  const roster = openRoster(journal, holding).value;
  const rounds = openRounds(journal);
  if (roster.here.length < 2) return null;
  const names = roster.walkers.map((one) => one.name).join(t("app.comma"));
  const handOver = async (person: string) => {
    // What has been walked so far is a round of its own.
    if ((rounds.walk.value?.passed.length ?? 0) > 0) await rounds.finish();
    else await rounds.drop();
    const [entry] = await journal.save([{ kind: "hand_over", person, day: today() }]);
    const name = roster.here.find((one) => one.id === person)?.name ?? person;
    if (entry) {
      said.value = { key: "app.roster.handed", values: { name }, undo: () => journal.retract(entry.id) };
    }
    sheet.current?.close();
  };
  return (
    <div class="walkers">
      <p>
        {named && (names === "" ? t("app.roster.nobody") : t("app.roster.walks", { names }))}
        {roster.handedOver && <span class="soft"> {t("app.roster.was_handed")}</span>}
      </p>
      <button type="button" class="plain" onClick={() => sheet.current?.showModal()}>
        {t("app.roster.hand_over")}
      </button>
      <dialog ref={sheet} class="sheet" aria-label={t("app.roster.hand_over")}>
        <h2>{t("app.roster.to_whom")}</h2>
        <p class="soft">{t("app.roster.to_whom_about")}</p>
        <div class="choice one-column">
          {roster.others.map((one) => (
            <button key={one.id} type="button" class="pick" onClick={() => void handOver(one.id)}>
              <span>
                {one.name}
                {one.id === roster.next && <small>{t("app.roster.next")}</small>}
              </span>
            </button>
          ))}
        </div>
        <button type="button" class="main" onClick={() => sheet.current?.close()}>
          {t("app.close")}
        </button>
      </dialog>
    </div>
  );
}
