import type { BathRecipe, BathState } from "../../generated/watershapes";
import type { Station } from "../../log/holding";
import { CautionList } from "../../parts/jobs";
import { Part } from "../../parts/screen";
import { Why } from "../../parts/why";
import { to } from "../../route";
import { becauseWords } from "../../words/planned";
import { measure, number, t } from "../../words/words";

/** The fish bath: closed with the reason, or what a bath that was noted needs. */
export function BathPart({ station, bath }: { station: Station; bath: BathState }) {
  return (
    <Part title={t("app.pond_day.bath")}>
      <p class={bath.open ? "soft" : ""}>{becauseWords(station, bath.because)}</p>
      {bath.recipe && <Recipe station={station} recipe={bath.recipe} />}
      {bath.open && (
        <a class="aside" href={to("station", station.id, "record", "bath")}>
          {t("app.pond_day.bath_record")}
        </a>
      )}
    </Part>
  );
}

function Recipe({ station, recipe }: { station: Station; recipe: BathRecipe }) {
  const { problem, because, cautions, wait, figures = {} } = recipe;
  if (problem) return <p class="finding">{becauseWords(station, problem)}</p>;
  const ml = (name: string) => measure(figures[name] ?? 0, "mL");
  const syringe = figures["syringe_ml"] ?? 0;
  return (
    <>
      <p class="huge">
        {number(figures["measure_ml"] ?? 0)} <small>mL</small>
      </p>
      <p>{t(`app.choice.stock.${recipe.stock}`)}</p>
      {because && (
        <p class="soft">
          {becauseWords(station, because)} <Why station={station} because={because} />
        </p>
      )}
      <dl class="figures">
        <dt>{t("app.pond_day.pure")}</dt>
        <dd>{ml("oil_ml")}</dd>
        {recipe.stock !== "neat" && (
          <>
            <dt>{t("app.pond_day.other_reading")}</dt>
            <dd>{ml("other_ml")}</dd>
          </>
        )}
        <dt>{t("app.pond_day.syringe")}</dt>
        <dd>
          {syringe === 0 ? t("app.pond_day.no_syringe") : ml("syringe_ml")}
          {syringe > 0 && <small class="soft under">{t("app.pond_day.line", { line: ml("line_ml") })}</small>}
        </dd>
        <dt>{t("app.pond_day.drops")}</dt>
        <dd>{range(figures, "drops_low", "drops_high", "")}</dd>
        <dt>{t("app.pond_day.published")}</dt>
        <dd>{range(figures, "published_low", "published_high", "mg/L")}</dd>
      </dl>
      {wait && (
        <p class="lead">
          {becauseWords(station, wait.because)} <Why station={station} because={wait.because} />
        </p>
      )}
      <CautionList station={station} keys={cautions ?? []} />
    </>
  );
}

function range(figures: Readonly<Record<string, number>>, low: string, high: string, unit: string): string {
  const from = figures[low] ?? 0;
  const until = figures[high] ?? 0;
  const words = t("app.range_short", { low: number(from), high: number(until) });
  return unit ? `${words} ${unit}` : words;
}
