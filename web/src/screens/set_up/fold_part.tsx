import type { FoldState } from "../../core/fold";
import { useHere } from "../../here";
import { Choice } from "../../parts/choice";
import { number, t } from "../../words/words";

const CHOICES = ["auto", "on", "off"] as const;
/** A fault is told in one line of its own words. */
const SHORT = 120;

/** Whether this phone reckons for itself, how that stands, and what it costs to fetch. */
export function FoldPart() {
  const { journal, fold } = useHere();
  const state = fold.state.value;
  const choice = String(journal.kept.value["fold"] ?? "auto");
  const detail = "detail" in state ? (state.detail.split("\n").at(-1) ?? "") : "";
  return (
    <>
      <p class="lead" role="status">
        {t(`app.fold.phase.${phaseOf(state)}`)}
      </p>
      {detail && <p class="finding">{t("app.fold.detail", { detail: detail.slice(0, SHORT) })}</p>}
      {state.phase === "broken" && !state.again && (
        <button type="button" class="main" onClick={() => fold.begin(true)}>
          {t("app.fold.again")}
        </button>
      )}
      <p>{t("app.fold.about", { mb: number(Math.round(__FOLD__.bytes / 1e6)) })}</p>
      <Choice
        legend={t("app.fold.legend")}
        chosen={[choice]}
        onChoose={(one) => void journal.keep("fold", one)}
        choices={CHOICES.map((one) => ({
          value: one,
          words: t(`app.fold.choice.${one}`),
          under: t(`app.fold.choice.${one}.under`),
        }))}
      />
      {state.phase === "ready" && state.planMs !== null && (
        <p class="soft">
          {t("app.fold.timing", { boot: number(state.bootMs / 1e3), plan: number(state.planMs / 1e3) })}
        </p>
      )}
    </>
  );
}

function phaseOf(state: FoldState): string {
  if (state.phase === "off" && state.why === "save_data") return "off.save_data";
  return state.phase === "broken" && state.again ? "broken.again" : state.phase;
}
