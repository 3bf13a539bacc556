import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { said, useHere } from "../here";
import type { Draft } from "../log/entry";
import type { Station } from "../log/holding";
import { openRoster } from "../log/roster";
import { openRounds } from "../log/round";

import { painted } from "../painted";
import { Early } from "../parts/early";
import { Glyph } from "../parts/glyph";
import { NEAR } from "../parts/layout";
import { to } from "../route";
import { sideName } from "../words/planned";
import { recordName } from "../words/told";
import { notDue } from "../words/turning";
import { t } from "../words/words";

/** The records of a station under the thumb: the usual ones at once, all of them behind 'more'. */
export function RecordDock({ station }: { station: Station }) {
  const [open, show] = useState(false);
  const { holding } = useHere();
  const kinds = holding.kindsFor(station.type);
  const near = NEAR[station.type] ?? kinds.slice(0, 3);
  return (
    <section class="dock" aria-label={t("app.dock")}>
      <NextStop station={station} />
      <div class="dock-row">
        {near.map((kind) => (
          <a key={kind} class="press" href={to("station", station.id, "record", kind)}>
            <Glyph name={kind} />
            <span>{t(`app.kind.${kind}`)}</span>
          </a>
        ))}
        <button type="button" class="press" onClick={() => show(true)}>
          <Glyph name="more" />
          <span>{t("app.station.more")}</span>
        </button>
      </div>
      {open && <AllRecords station={station} kinds={kinds} closed={() => show(false)} />}
    </section>
  );
}

/** A row of the sheet is at least so high, and so much of a screen is left to rows. */
const ROW_PX = 64;
const ROWS_SHARE = 0.62;

function AllRecords({
  station,
  kinds,
  closed,
}: {
  station: Station;
  kinds: readonly string[];
  closed(): void;
}) {
  const sheet = useRef<HTMLDialogElement>(null);
  useLayoutEffect(() => sheet.current?.showModal(), []);
  const close = () => sheet.current?.close();
  // What a finger would have to scroll to comes after the frame that answers the press.
  const [rows, draw] = useState(Math.ceil((innerHeight * ROWS_SHARE) / ROW_PX));
  useEffect(() => void painted().then(() => draw(kinds.length)), [kinds.length]);
  return (
    <dialog ref={sheet} class="sheet" aria-label={t("app.station.all_records")} onClose={closed}>
      <h2>{t("app.station.all_records")}</h2>
      <AtOnce station={station} done={close} />
      <ul class="plain-list rows">
        {kinds.slice(0, rows).map((kind) => (
          <li key={kind}>
            <a class="row" href={to("station", station.id, "record", kind)}>
              <Glyph name={kind} size={34} />
              <span>
                <strong>{t(`app.kind.${kind}`)}</strong>
                <small>{t(`app.kind.${kind}.about`)}</small>
              </span>
            </a>
          </li>
        ))}
      </ul>
      <div class="sheet-end">
        <button type="button" class="main" onClick={close}>
          {t("app.close")}
        </button>
      </div>
    </dialog>
  );
}

/** What has nothing to fill in is saved by one press: all is well, or feeding moves to the other side. */
function AtOnce({ station, done }: { station: Station; done(): void }) {
  const { journal, holding } = useHere();
  const other = holding.feedingSide(station.id) === "a" ? "b" : "a";
  const save = async (draft: Draft) => {
    const [entry] = await journal.save([{ ...draft, station: station.id }]);
    if (entry) {
      const of = recordName(station, draft.kind);
      said.value = { of, key: "app.saved", undo: () => journal.retract(entry.id) };
    }
    done();
    await openRounds(journal).pass(station.id);
  };
  return (
    <div class="at-once">
      <button type="button" class="pick" onClick={() => void save({ kind: "signs", signs: ["all_well"] })}>
        <Glyph name="tick" />
        <span>{t("app.station.all_well")}</span>
      </button>
      {holding.kindsFor(station.type).includes("switch") && (
        <Switch station={station} to={other} press={() => void save({ kind: "switch", side: other })} />
      )}
    </div>
  );
}

/** Feeding moves to the other side; where it isn't due the press says so, and is named for what it is. */
function Switch({ station, to: side, press }: { station: Station; to: string; press(): void }) {
  const early = notDue(station, side === "a" ? "b" : "a");
  const name = sideName(station, side);
  return (
    <>
      <Early why={early} />
      <button type="button" class="pick" onClick={press}>
        <Glyph name="switch" />
        {early.length === 0 ? (
          <span>{t("app.station.switch_now", { side: name })}</span>
        ) : (
          <span>
            {t("app.station.switch_anyway")}
            <small>{t("app.station.switch_now", { side: name })}</small>
          </span>
        )}
      </button>
    </>
  );
}

/** On a round: the next station that hasn't been passed, or the way back to finish. */
function NextStop({ station }: { station: Station }) {
  const { journal, holding } = useHere();
  const rounds = openRounds(journal);
  const walk = rounds.walk.value;
  if (walk === null) return null;
  const here = walk.passed.includes(station.id);
  const before = openRoster(journal, holding).value.before;
  const next = holding.stations.value.find(
    (one) => one.id !== station.id && !walk.passed.includes(one.id) && !before.has(one.id),
  );
  return (
    <a
      class="next-stop"
      href={next ? to("station", next.id) : to("round")}
      onClick={() => void rounds.pass(station.id)}
    >
      {next
        ? t(here ? "app.round.next" : "app.round.looked_next", { station: next.name })
        : t(here ? "app.round.back" : "app.round.looked_back")}
      <Glyph name="next" size={20} />
    </a>
  );
}
