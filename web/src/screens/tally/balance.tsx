import { useState } from "preact/hooks";
import type { Account, Balance, Flow } from "../../generated/shapes";
import { useHere } from "../../here";
import type { Holding } from "../../log/holding";
import { Choice } from "../../parts/choice";
import { Part } from "../../parts/screen";
import { Why } from "../../parts/why";
import { number, say, t } from "../../words/words";

const FIGURES = ["wet_kg", "dry_kg", "nitrogen_kg"] as const;
type Of = (typeof FIGURES)[number];

/** What came in, went out and is there now: of the place, and of each station; the books close. */
export function BalancePart({ balance }: { balance: Balance }) {
  const [of, choose] = useState<Of>("dry_kg");
  if (balance.accounts.length === 0) return null;
  return (
    <Part title={t("app.tally.balance")}>
      <Choice
        legend={t("app.tally.balance_of")}
        chosen={[of]}
        onChoose={(one) => choose(one as Of)}
        choices={FIGURES.map((one) => ({ value: one, words: t(`app.tally.balance.${one}`) }))}
      />
      <Books account={balance.place} of={of} />
      <p class="soft">
        {t("app.tally.balance_closes", { kg: Math.max(balance.open_kg, 1e-12) < 1e-6 ? 0 : balance.open_kg })}{" "}
        <Why because={balance.because} />
      </p>
      <details class="more">
        <summary>{t("app.tally.balance_each")}</summary>
        {balance.accounts.map((one) => (
          <Books key={one.account} account={one} of={of} />
        ))}
      </details>
    </Part>
  );
}

function Books({ account, of }: { account: Account; of: Of }) {
  const { holding } = useHere();
  const kg = (flow: Flow) => number(flow[of]);
  const flows = (list: readonly Flow[]) =>
    list.filter((one) => one.wet_kg + one.dry_kg + one.nitrogen_kg !== 0);
  return (
    <table class="numbers books">
      <caption>
        <strong>{accountName(account.account, holding)}</strong>
      </caption>
      <tbody>
        <Line head name={t("tally.report.before")} kg={kg(account.before)} />
        {flows(account.came).map((one) => (
          <Line key={one.what} sign="+" name={accountName(one.what, holding)} kg={kg(one)} />
        ))}
        {flows(account.left).map((one) => (
          <Line key={one.what} sign="−" name={accountName(one.what, holding)} kg={kg(one)} />
        ))}
        <Line sign="−" name={t("tally.report.lost")} kg={kg(account.lost)} />
        <Line head name={t("tally.report.after")} kg={kg(account.after)} />
      </tbody>
    </table>
  );
}

function Line({
  name,
  kg,
  sign = "",
  head = false,
}: {
  name: string;
  kg: string;
  sign?: string;
  head?: boolean;
}) {
  return (
    <tr class={head ? "books-head" : ""}>
      <th scope="row">
        {sign && <span class="books-sign">{sign}</span>} {name}
      </th>
      <td>{kg}</td>
    </tr>
  );
}

/** An account by the name people give it: `at trough`, `in kitchen`, `out garden`, `hand larvae`. */
export function accountName(account: string, holding: Holding): string {
  const [sort = "", ...rest] = account.split(" ");
  const name = rest.join(" ");
  switch (sort) {
    case "at":
      return holding.station(name)?.name ?? name;
    case "hand":
      return t("tally.report.in_hand", {
        what: say([`tally.out.${name}`, "app.output.other"], { what: name }),
      });
    case "in":
      return say([`tally.report.from_${name}`, `stream.${name}`, "app.stream.other"], { stream: name });
    case "out":
      return say([`tally.report.to_${name}`, "app.stream.other"], { stream: name });
    default:
      return holding.name.value || t("app.nav.place");
  }
}
