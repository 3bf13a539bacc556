import { useState } from "preact/hooks";
import { proposes } from "../../access/me";
import { useHere } from "../../here";
import type { Holding } from "../../log/holding";
import { feedstockWords } from "../../words/told";
import { t } from "../../words/words";
import { ItemForm } from "./item_form";

type Row = { readonly id: string; readonly name: string };

/** What is set up of one sort: each can be changed, one more can be added, with or without signal. */
export function ItemList({ what }: { what: string }) {
  const { holding, journal } = useHere();
  const [open, show] = useState<string | null>(what === "place" ? "place" : null);
  const rows = listed(what, holding);
  return (
    <>
      {proposes(journal) && <p class="notice">{t("access.proposes")}</p>}
      {what !== "place" && <p>{t(`app.set_up.${what}.about`)}</p>}
      <ul class="plain-list rows">
        {rows.map((row) => (
          <li key={row.id}>
            {open === row.id ? (
              <ItemForm what={what} id={row.id} done={() => show(what === "place" ? "place" : null)} />
            ) : (
              <button type="button" class="row" onClick={() => show(row.id)}>
                <span>
                  <strong>{row.name}</strong>
                  <small>{t("app.set_up.change")}</small>
                </span>
              </button>
            )}
          </li>
        ))}
      </ul>
      {what !== "place" &&
        (open === "" ? (
          <ItemForm what={what} id="" done={() => show(null)} />
        ) : (
          <button type="button" class="main" onClick={() => show("")}>
            {t(`app.set_up.${what}.add`)}
          </button>
        ))}
    </>
  );
}

function listed(what: string, holding: Holding): readonly Row[] {
  switch (what) {
    case "station":
      return holding.stations.value;
    case "person":
      return holding.people.value;
    case "container":
      return holding.containers.value;
    case "feedstock":
      return holding.feedstocks.value
        .filter((one) => holding.item("feedstock", one.id) !== undefined)
        .map((one) => ({ id: one.id, name: feedstockWords(one.id, holding) }));
    default:
      return [{ id: "place", name: holding.name.value || t("app.nav.place") }];
  }
}
