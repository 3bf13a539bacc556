import { useState } from "preact/hooks";
import type { Circle, CircleArrow } from "../generated/shapes";
import { useHere } from "../here";
import { Choice } from "../parts/choice";
import { PlanAge } from "../parts/plan_age";
import { Rest } from "../parts/rest";
import { Head, Part } from "../parts/screen";
import { Why } from "../parts/why";
import { ends, mass, t } from "../words/words";
import { amountOf, MEASURES, type Measure } from "./circle/layout";
import { Picture } from "./circle/picture";

const PERIODS = ["month", "year"] as const;
const MEASURE_WORDS = {
  wet_kg: "app.circle.measure.wet",
  nitrogen_kg: "app.circle.measure.nitrogen",
  protein_kg: "app.circle.measure.protein",
} as const;

/** What moved between kitchen, bed, bin, pond, hive, garden and table, and what lies there. */
export function CircleScreen() {
  const { holding } = useHere();
  const [period, toPeriod] = useState<string>("month");
  const [measure, toMeasure] = useState<Measure>("wet_kg");
  const circles = holding.plan.value?.circles;
  const circle = circles?.[period === "year" ? 1 : 0];
  return (
    <>
      <Head title={t("app.circle.title")}>
        {circle && <p class="soft">{t("app.circle.about", ends(circle))}</p>}
      </Head>
      <PlanAge />
      <Choice
        legend={t("app.circle.period")}
        choices={PERIODS.map((one) => ({ value: one, words: t(`app.circle.${one}`) }))}
        chosen={[period]}
        onChoose={toPeriod}
      />
      <div class="no-tick">
        <Choice
          legend={t("app.circle.shown")}
          choices={MEASURES.map((one) => ({ value: one, words: t(MEASURE_WORDS[one]) }))}
          chosen={[measure]}
          onChoose={(one) => toMeasure(one as Measure)}
        />
      </div>
      {circle && <Drawn key={period} circle={circle} measure={measure} />}
    </>
  );
}

function Drawn({ circle, measure }: { circle: Circle; measure: Measure }) {
  const [chosen, choose] = useState<CircleArrow | null>(null);
  const moved = circle.arrows
    .filter((arrow) => amountOf(arrow, measure) > 0)
    .sort((one, other) => amountOf(other, measure) - amountOf(one, measure));
  if (circle.arrows.length === 0) return <p>{t("app.circle.nothing")}</p>;
  return (
    <>
      <Picture circle={circle} measure={measure} chosen={chosen} onChoose={choose} />
      {chosen && (
        <dl class="figures chosen-flow" aria-live="polite">
          <Row arrow={chosen} measure={measure} />
        </dl>
      )}
      <Rest>
        <p class="soft">
          {t("app.circle.closes")} <Why because={circle.because} />
        </p>
        <Part title={t("app.circle.arrows")}>
          <dl class="figures">
            {moved.map((arrow) => (
              <Row key={`${arrow.source} ${arrow.target}`} arrow={arrow} measure={measure} />
            ))}
          </dl>
        </Part>
        <Stored circle={circle} measure={measure} />
      </Rest>
    </>
  );
}

function Row({ arrow, measure }: { arrow: CircleArrow; measure: Measure }) {
  const { source, target } = arrow;
  return (
    <>
      <dt>
        {t("app.circle.arrow", {
          source: t(`app.circle.node.${source}`),
          target: t(`app.circle.node.${target}`),
        })}
      </dt>
      <dd>
        <Why because={arrow.because}>{mass(amountOf(arrow, measure))}</Why>
      </dd>
    </>
  );
}

function Stored({ circle, measure }: { circle: Circle; measure: Measure }) {
  const there = circle.nodes.flatMap(({ node, before, after }) => {
    const [was, is] = [before?.[measure], after?.[measure]];
    return typeof was === "number" && typeof is === "number" ? [{ node, was, is }] : [];
  });
  if (there.length === 0) return null;
  return (
    <Part title={t("app.circle.stored")}>
      <dl class="figures stored">
        {there.map(({ node, was, is }) => (
          <>
            <dt>{t(`app.circle.node.${node}`)}</dt>
            <dd>{t("app.circle.stored_line", { before: mass(was), after: mass(is) })}</dd>
          </>
        ))}
      </dl>
    </Part>
  );
}
