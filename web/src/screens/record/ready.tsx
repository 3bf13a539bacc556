import { type Here, useHere } from "../../here";
import { usual } from "../../log/usual";
import { Glyph } from "../../parts/glyph";
import { FRACTION_SIGNS, QUICK_PARTS } from "../../parts/layout";
import { feedstockWords, fieldWords, filledWords } from "../../words/told";
import { number, t } from "../../words/words";
import type { Form } from "./form";

/** What is done the same way again; what is measured or seen is noted anew. */
const REPEATED = new Set(["feed", "water", "given", "reject"]);

type Props = { form: Form; done(): void };

/** Records that stand ready: one press saves the whole of one, and 'undo' takes it back. */
export function Ready({ form, done }: Props) {
  const here = useHere();
  const { holding } = here;
  const found = form.before.value;
  const byContainer = form.kind === "feed" ? usualHere(here, form) : null;
  if (!REPEATED.has(form.kind) || (found.length === 0 && byContainer === null)) return null;
  const save = (fields: Readonly<Record<string, unknown>>) =>
    void form.saveAs(fields).then((saved) => saved && done());
  return (
    <section class="ready" aria-labelledby="ready">
      <h2 id="ready">
        <Glyph name="tick" size={20} />
        {t("app.record.at_once")}
      </h2>
      {byContainer && (
        <fieldset class="choice narrow">
          <legend>
            {byContainer.name} · {feedstockWords(byContainer.feedstock, holding)}
          </legend>
          {QUICK_PARTS.map((filled) => (
            <button
              key={filled}
              type="button"
              class="pick"
              data-ready={filled}
              onClick={() =>
                save({
                  feedstock: byContainer.feedstock,
                  amount: { container: byContainer.container, filled },
                })
              }
            >
              <span aria-hidden="true">{FRACTION_SIGNS[filled] ?? number(filled)}</span>
              <span class="heard">{filledWords(byContainer.container, filled, holding)}</span>
            </button>
          ))}
        </fieldset>
      )}
      {found.map((fields) => {
        const words = Object.entries(fields).map(([name, value]) =>
          fieldWords(form.kind, name, value, holding),
        );
        return (
          <button key={words.join()} type="button" class="pick" onClick={() => save(fields)}>
            <span>{words.filter(Boolean).join(t("app.comma"))}</span>
          </button>
        );
      })}
    </section>
  );
}

function usualHere({ journal, holding }: Here, form: Form) {
  const { near, far } = holding.feedstocksFor(form.station.type);
  const found = usual(
    journal.entries.value,
    form.station.id,
    String(journal.kept.value["person"] ?? ""),
    holding.containers.value.map((one) => one.id),
    [...near, ...far],
  );
  if (found === null) return null;
  return { ...found, name: holding.containers.value.find((one) => one.id === found.container)?.name ?? "" };
}
