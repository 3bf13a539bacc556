import type { Route, RouteShare } from "../../generated/shapes";
import { useHere } from "../../here";
import { Glyph } from "../../parts/glyph";
import { CautionList } from "../../parts/jobs";
import { Part } from "../../parts/screen";
import { WarningLine } from "../../parts/warnings";
import { Why } from "../../parts/why";
import { adviceWords, becauseWords, sideName } from "../../words/planned";
import { feedstockWords } from "../../words/told";
import { mass, t } from "../../words/words";
import { type Bucket, placeKey } from "./bucket";
import { Suits } from "./suits";

/** Where it goes: a stone for each place, how much, and the reason of each share. */
export function AnswerPart({ bucket }: { bucket: Bucket }) {
  const found = bucket.answer.value;
  if (found === null) return <p class="soft">{t("app.bucket.asking")}</p>;
  if (found.route === null) return <Suits bucket={bucket} />;
  return (
    <Part title={t("app.bucket.goes")}>
      <Warned route={found.route} grave />
      <ol class="goes">
        {grouped(found.route.shares).map((shares) => (
          <Goes key={groupKey(shares[0] as RouteShare)} shares={shares} route={found.route} bucket={bucket} />
        ))}
      </ol>
      <Warned route={found.route} />
      <Cautions route={found.route} />
      <Mixes route={found.route} />
      {found.by === "service" && <p class="soft">{t("app.bucket.by_service")}</p>}
    </Part>
  );
}

/** What is grave is said before anything goes anywhere, what is only good to know after it. */
function Warned({ route, grave = false }: { route: Route; grave?: boolean }) {
  return (
    <ul class="warnings" aria-live="polite">
      {route.warnings
        .filter((one) => (one.level !== "note") === grave)
        .map((one) => (
          <WarningLine key={one.code} level={one.level} words={becauseWords(undefined, one.because)}>
            <ol class="remedies">
              {one.remedies.map((key) => (
                <li key={key}>{adviceWords({ type: "" }, key)}</li>
              ))}
            </ol>
          </WarningLine>
        ))}
    </ul>
  );
}

const groupKey = (one: RouteShare): string =>
  one.where === "station" ? placeKey(one) : `${one.where} ${one.until ?? ""}`;

/** Shares by place: stations first, then the freezer, what nobody takes last. */
function grouped(shares: readonly RouteShare[]): RouteShare[][] {
  const found = new Map<string, RouteShare[]>();
  for (const where of ["station", "keep", "elsewhere"]) {
    for (const one of shares.filter((share) => share.where === where)) {
      found.set(groupKey(one), [...(found.get(groupKey(one)) ?? []), one]);
    }
  }
  return [...found.values()];
}

function Goes({ shares, route, bucket }: { shares: RouteShare[]; route: Route; bucket: Bucket }) {
  const { holding } = useHere();
  const first = shares[0] as RouteShare;
  const station = first.station ? holding.station(first.station) : undefined;
  const kg = shares.reduce((sum, one) => sum + one.kg, 0);
  const glyph = station?.type ?? (first.where === "keep" ? "freezer" : "elsewhere");
  return (
    <li class={`goes-${first.where}`}>
      <span class="stone" aria-hidden="true">
        <Glyph name={glyph} size={40} />
      </span>
      <div>
        <p class="goes-head">
          <strong>{station?.name ?? t(`router.where.${first.where}`)}</strong>
          <span class="goes-kg">{mass(kg)}</span>
        </p>
        {first.side !== null && <p>{sideName(station, first.side)}</p>}
        {first.until !== null && <p>{t("router.until", { until: first.until })}</p>}
        {shares.map((one) => (
          <p key={one.material}>
            {bucket.known.value.length > 1 && (
              <strong>
                {t(shares.length > 1 ? "app.bucket.share_kg" : "app.bucket.share", {
                  what: feedstockWords(one.material, holding),
                  kg: one.kg,
                })}
              </strong>
            )}{" "}
            <span class="soft">{reasonWords(one)}</span>
          </p>
        ))}
        <Added route={route} at={first} bucket={bucket} />
      </div>
    </li>
  );
}

function reasonWords(one: RouteShare): string {
  const said = becauseWords(undefined, one.because);
  if (one.where === "keep" && one.until === null) return `${said} ${t("router.kept_open")}`;
  return one.because.key === "router.unsuitable" ? `${said} ${t("router.elsewhere_how")}` : said;
}

/** What should go in too; only what a person says went in is recorded. */
function Added({ route, at, bucket }: { route: Route; at: RouteShare; bucket: Bucket }) {
  const { holding } = useHere();
  const mine = route.together.filter((one) => at.where === "station" && placeKey(one) === placeKey(at));
  return (
    <>
      {mine.map((one) => {
        const key = `${placeKey(one)} ${one.material}`;
        const picked = bucket.added.value.has(key);
        return (
          <button
            key={key}
            type="button"
            class={`pick ${picked ? "picked" : ""}`}
            aria-pressed={picked}
            onClick={() => bucket.toggle(key)}
          >
            <span>
              {t("app.bucket.with", {
                what: feedstockWords(one.material, holding),
                much: mass(one.kg),
              })}
              <small>{t(picked ? "app.bucket.with_in" : "app.bucket.with_press")}</small>
            </span>
            {picked && <Glyph name="tick" size={18} />}
          </button>
        );
      })}
    </>
  );
}

/** What each station may have today, and what this does to the mix of what was fed there lately. */
function Mixes({ route }: { route: Route }) {
  const { holding } = useHere();
  return (
    <details class="more">
      <summary>{t("app.bucket.mixes")}</summary>
      {route.stations.map((one) => {
        const station = holding.station(one.station);
        const name = [one.name, sideName(station, one.side)].filter(Boolean).join(", ");
        const rests = one.because.key === "router.rests";
        return (
          <p key={placeKey(one)} class="goes-mix">
            <strong>{name}</strong>{" "}
            {rests
              ? becauseWords(undefined, one.because)
              : t("app.bucket.mix", {
                  ration: mass(one.ration_kg),
                  known: one.moisture_pct === null ? "no" : "yes",
                  moisture: one.moisture_pct === null ? null : Math.round(one.moisture_pct),
                  ratio: one.carbon_to_nitrogen === null ? null : Math.round(one.carbon_to_nitrogen),
                })}{" "}
            {!rests && (
              <Why
                {...(station ? { station } : {})}
                because={one.because}
                side={one.side}
                constants={route.constants}
              />
            )}
          </p>
        );
      })}
    </details>
  );
}

function Cautions({ route }: { route: Route }) {
  const keys = [...new Set(route.shares.flatMap((one) => one.cautions))];
  return <CautionList station={{ type: "" }} keys={keys} />;
}
