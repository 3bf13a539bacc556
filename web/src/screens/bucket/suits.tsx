import type { FeedstockPlan } from "../../generated/shapes";
import { useHere } from "../../here";
import { Part } from "../../parts/screen";
import { feedstockWords } from "../../words/told";
import { number, rationAmount, t } from "../../words/words";
import type { Bucket } from "./bucket";

/**
 * While nobody can reckon: who may have how much of each thing, as it came with the last plan. Nothing is
 * worked out here.
 */
export function Suits({ bucket }: { bucket: Bucket }) {
  const { holding, fold } = useHere();
  const { phase } = fold.state.value;
  const planned = new Map(holding.plan.value?.place.feedstocks.map((one) => [one.id, one]));
  return (
    <Part title={t("app.bucket.suits")}>
      <p class="notice">{t(PHASES.has(phase) ? "app.bucket.starting" : "app.bucket.nobody")}</p>
      <dl class="figures">
        {bucket.known.value.map(({ feedstock }) => (
          <Suit key={feedstock} id={feedstock} one={planned.get(feedstock)} />
        ))}
      </dl>
    </Part>
  );
}

const PHASES: ReadonlySet<string> = new Set(["resting", "fetching", "starting", "ready"]);

function Suit({ id, one }: { id: string; one: FeedstockPlan | undefined }) {
  const { holding } = useHere();
  const takers = holding.stations.value.filter(({ type }) => one?.shares[type] !== undefined);
  return (
    <>
      <dt>{feedstockWords(id, holding)}</dt>
      <dd>
        {takers.length === 0
          ? t("router.unsuitable")
          : takers.map((station) => (
              <p key={station.id}>
                {t("app.bucket.suit", {
                  station: station.name,
                  pct: number(100 * (one?.shares[station.type] ?? 0)),
                  ration: rationAmount(station.plan?.ration ?? { kg: 0 }),
                })}
              </p>
            ))}
      </dd>
    </>
  );
}
