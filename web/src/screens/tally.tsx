import { useState } from "preact/hooks";
import type { Tally, Warning } from "../generated/shapes";
import { useHere } from "../here";
import { Glyph } from "../parts/glyph";
import { PlanAge } from "../parts/plan_age";
import { Rest } from "../parts/rest";
import { Head, Part } from "../parts/screen";
import { WarningLine } from "../parts/warnings";
import { Why } from "../parts/why";
import { to } from "../route";
import { adviceWords, becauseWords } from "../words/planned";
import { ends, estimate, mass, say, t } from "../words/words";
import { BalancePart } from "./tally/balance";
import { Methane, Standards } from "./tally/effects";
import { MonthBars } from "./tally/month_bars";
import { PeriodPick, useTally } from "./tally/period";
import { Recovered } from "./tally/recovered";
import { Reports } from "./tally/reports";
import { Shares } from "./tally/shares";

/** What was kept out of landfill, month by month, and what came out of it. */
export function TallyScreen() {
  const { holding } = useHere();
  const [period, pick] = useState("");
  const { tally, asking } = useTally(period);
  return (
    <>
      <Head title={t("app.tally.title")}>
        {tally && <p class="soft">{t("app.tally.period", ends(tally))}</p>}
      </Head>
      <PlanAge />
      {holding.plan.value && <PeriodPick period={period} onPick={pick} />}
      {tally ? <Sums tally={tally} /> : period !== "" && <Missing asking={asking} />}
    </>
  );
}

const Missing = ({ asking }: { asking: boolean }) => (
  <p class="notice">{t(asking ? "app.tally.asking" : "app.tally.nobody")}</p>
);

function Sums({ tally }: { tally: Tally }) {
  const { holding } = useHere();
  const people = new Map(holding.people.value.map((one) => [one.id, one.name]));
  const stations = new Map(holding.stations.value.map((one) => [one.id, one.name]));
  const { low, high, value } = tally.net;
  const net = estimate(value ?? 0, low, high, "kg");
  return (
    <>
      <p class="huge">
        {net.figure} <small>{net.unit}</small>
      </p>
      <p>
        {t("app.tally.net")} {low !== null && high !== null && low !== high && t("app.range", { ...net })}{" "}
        <Why because={tally.net.because} />
      </p>
      <Asks asks={tally.asks} />
      <a class="pick way-on" href={to("circle")}>
        <Glyph name="circle" />
        <span>{t("app.circle.open")}</span>
        <Glyph name="next" size={20} />
      </a>
      <Rest>
        {tally.months.length > 1 && tally.gross_kg > 0 && (
          <Part title={t("app.tally.months")}>
            <MonthBars months={tally.months} />
          </Part>
        )}
        <Shares
          title={t("app.tally.streams")}
          rows={tally.streams.map((one) => [streamWords(one.stream), one.kg])}
        />
        <Shares title={t("app.tally.stations")} rows={named(tally.stations, stations)} />
        <Shares title={t("app.tally.people")} rows={named(tally.people, people)} />
        <Recovered tally={tally} />
        <Methane avoided={tally.avoided} />
        <Counted tally={tally} />
        <BalancePart balance={tally.balance} />
        <Standards tally={tally} />
        <Reports tally={tally} />
      </Rest>
    </>
  );
}

/** What may be a slip of the thumb: asked about, with the entries one press away. */
function Asks({ asks }: { asks: readonly Warning[] }) {
  if (asks.length === 0) return null;
  return (
    <ul class="warnings">
      {asks.map((one) => (
        <WarningLine
          key={`${one.code} ${one.because.entries.join()}`}
          level={one.level}
          words={becauseWords(undefined, one.because)}
        >
          <p class="soft">
            {one.remedies.map((key) => adviceWords({ type: "" }, key)).join(" ")}{" "}
            <Why because={one.because} />
          </p>
        </WarningLine>
      ))}
    </ul>
  );
}

function Counted({ tally }: { tally: Tally }) {
  return (
    <Part title={t("app.tally.counted")}>
      <p>{t("app.tally.counted_text")}</p>
      <p>{t("app.tally.rejected", { kg: tally.rejected_kg, gross: tally.gross_kg })}</p>
      {Object.entries(tally.not_counted_kg).map(([stream, kg]) => (
        <p key={stream} class="soft">
          {t("app.tally.not_counted", { stream: streamWords(stream), kg: mass(kg) })}
        </p>
      ))}
    </Part>
  );
}

const named = (
  sums: Readonly<Record<string, number>>,
  names: ReadonlyMap<string, string>,
): (readonly [string, number])[] => Object.entries(sums).map(([id, kg]) => [names.get(id) ?? id, kg]);

const streamWords = (stream: string): string =>
  say([`stream.${stream}`, `app.stream.${stream}`, "app.stream.other"], { stream });
