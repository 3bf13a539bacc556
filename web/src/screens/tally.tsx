import type { Month, Tally } from "../generated/shapes";
import { useHere } from "../here";
import { PlanAge } from "../parts/plan_age";
import { Head, Part } from "../parts/screen";
import { Why } from "../parts/why";
import { measure, month, number, say, t } from "../words/words";

/** What was kept out of landfill, month by month, and what came out of it. */
export function TallyScreen() {
  const { holding } = useHere();
  const tally = holding.plan.value?.tally;
  return (
    <>
      <Head title={t("app.tally.title")}>
        {tally && <p class="soft">{t("app.tally.period", { since: tally.since, until: tally.until })}</p>}
      </Head>
      <PlanAge />
      {tally && <Sums tally={tally} />}
    </>
  );
}

function Sums({ tally }: { tally: Tally }) {
  const { holding } = useHere();
  const people = Object.fromEntries(holding.people.value.map((one) => [one.id, one.name]));
  const stations = Object.fromEntries(holding.stations.value.map((one) => [one.id, one.name]));
  const outputs = Object.entries(tally.outputs);
  const apart = Object.entries(tally.not_counted_kg);
  const { low, high, value } = tally.net;
  return (
    <>
      <p class="huge">
        {number(value ?? 0)} <small>kg</small>
      </p>
      <p>
        {t("app.tally.net")} {low !== null && high !== null && t("app.range", { low, high })}{" "}
        <Why because={tally.net.because} />
      </p>
      <Part title={t("app.tally.months")}>
        <MonthBars months={tally.months} />
      </Part>
      <Shares
        title={t("app.tally.streams")}
        rows={tally.streams.map((one) => [
          say([`stream.${one.stream}`, `app.stream.${one.stream}`], { stream: one.stream }),
          one.kg,
        ])}
      />
      <Shares
        title={t("app.tally.stations")}
        rows={Object.entries(tally.stations).map(([id, kg]) => [stations[id] ?? id, kg])}
      />
      <Shares
        title={t("app.tally.people")}
        rows={Object.entries(tally.people).map(([id, kg]) => [people[id] ?? id, kg])}
      />
      {outputs.length > 0 && (
        <Shares
          title={t("app.tally.outputs")}
          rows={outputs.map(([what, kg]) => [say([`app.output.${what}`], { what }), kg])}
        />
      )}
      <Part title={t("app.tally.counted")}>
        <p>{t("app.tally.counted_text")}</p>
        <p>{t("app.tally.rejected", { kg: tally.rejected_kg, gross: tally.gross_kg })}</p>
        {apart.map(([stream, kg]) => (
          <p key={stream} class="soft">
            {t("app.tally.not_counted", {
              stream: say([`stream.${stream}`, `app.stream.${stream}`], { stream }),
              kg: measure(kg, "kg"),
            })}
          </p>
        ))}
      </Part>
    </>
  );
}

/** A bar a month, read as a table by those who listen; a month that fell below nothing says so. */
function MonthBars({ months }: { months: readonly Month[] }) {
  const most = Math.max(1, ...months.map((one) => one.net_kg));
  return (
    <table class="bars">
      <caption class="heard">{t("app.tally.months")}</caption>
      <tbody>
        {months.map((one) => (
          <tr key={one.month}>
            <th scope="row">{month(one.month)}</th>
            <td>
              <span class="bar-fill" style={{ width: `${(Math.max(0, one.net_kg) / most) * 100}%` }} />
              <span class="bar-value">{number(one.net_kg)}</span>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Shares({ title, rows }: { title: string; rows: readonly (readonly [string, number])[] }) {
  const sorted = [...rows].sort(([, one], [, other]) => other - one);
  const most = sorted[0]?.[1] ?? 1;
  if (sorted.length === 0) return null;
  return (
    <Part title={title}>
      <dl class="shares">
        {sorted.map(([name, kg]) => (
          <div key={name} style={`--share: ${(kg / most) * 100}%`}>
            <dt>{name}</dt>
            <dd>{measure(kg, "kg")}</dd>
          </div>
        ))}
      </dl>
    </Part>
  );
}
