import { said, useHere } from "../here";
import { openRoster } from "../log/roster";
import { openRounds } from "../log/round";
import { to } from "../route";
import { t } from "../words/words";
import { Glyph } from "./glyph";

/** One press from the round: where does this bucket go? */
function ToBucket() {
  return (
    <a class="press to-bucket" href={to("bucket")}>
      <Glyph name="bucket" />
      <span>{t("app.bucket.open")}</span>
    </a>
  );
}

/** The round itself: begin it, see how far one is, finish it. */
export function WalkDock() {
  const { journal, holding } = useHere();
  const rounds = openRounds(journal);
  const walk = rounds.walk.value;
  const finish = async () => {
    const id = await rounds.finish();
    if (id !== null) said.value = { key: "app.round.saved", undo: () => journal.retract(id) };
  };
  if (walk === null) {
    return (
      <section class="dock" aria-label={t("app.dock")}>
        <div class="bar">
          <ToBucket />
          <button type="button" class="main" onClick={() => void rounds.start()}>
            {t("app.round.start")}
          </button>
        </div>
      </section>
    );
  }
  const none = walk.passed.length === 0;
  const been = new Set([...walk.passed, ...openRoster(journal, holding).value.before]);
  const count = holding.stations.value.length;
  return (
    <section class="dock" aria-label={t("app.dock")}>
      <p>{t("app.round.under_way", { passed: been.size, count, started: walk.started })}</p>
      <div class="bar">
        <ToBucket />
        <button
          type="button"
          class={none ? "aside" : "main"}
          onClick={() => void (none ? rounds.drop() : finish())}
        >
          {t(none ? "app.round.stop" : "app.round.finish")}
        </button>
      </div>
    </section>
  );
}
