import { type Here, useHere } from "../../here";
import { over } from "../../log/asking";
import { isFilled } from "../../log/entry";
import { usual } from "../../log/usual";
import { weightWords } from "../../parts/amount";
import { Glyph } from "../../parts/glyph";
import { FRACTION_SIGNS, QUICK_PARTS } from "../../parts/layout";
import { feedstockWords, fieldWords, filledWords } from "../../words/told";
import { number, t } from "../../words/words";
import type { Form } from "./form";

/** What is done the same way again; what is measured or seen is noted anew. */
const REPEATED = new Set(["feed", "water", "given", "reject"]);

type Props = { form: Form; done(): void };
type Fields = Readonly<Record<string, unknown>>;

/** Records that stand ready: one press saves the whole of one, and 'undo' takes it back. */
export function Ready({ form, done }: Props) {
  const here = useHere();
  const { holding } = here;
  const found = form.before.value;
  const byContainer = form.kind === "feed" ? usualHere(here, form) : null;
  if (!REPEATED.has(form.kind) || (found.length === 0 && byContainer === null)) return null;
  const save = (fields: Fields) => void form.saveAs(fields).then((saved) => saved && done());
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
          {QUICK_PARTS.map((filled) => {
            const { container, feedstock } = byContainer;
            const fields = { feedstock, amount: { container, filled } };
            return (
              <button
                key={filled}
                type="button"
                class="pick"
                data-ready={filled}
                onClick={() => save(fields)}
              >
                <span>
                  <span aria-hidden="true">{FRACTION_SIGNS[filled] ?? number(filled)}</span>
                  <span class="heard">{filledWords(container, filled, holding)}</span>
                  <Weight fields={fields} form={form} />
                </span>
              </button>
            );
          })}
        </fieldset>
      )}
      {found.map((fields) => {
        const words = Object.entries(fields).map(([name, value]) =>
          fieldWords(form.kind, name, value, holding),
        );
        return (
          <button key={words.join()} type="button" class="pick" onClick={() => save(fields)}>
            <span>
              {words.filter(Boolean).join(t("app.comma"))}
              <Weight fields={fields} form={form} wide />
            </span>
          </button>
        );
      })}
    </section>
  );
}

/** What a fill weighs; a mark where that is more than may still go in: one is asked before it is saved. */
function Weight({ fields, form, wide = false }: { fields: Fields; form: Form; wide?: boolean }) {
  const { amount, feedstock } = fields;
  const kg = form.weigh(amount, String(feedstock));
  const left = form.left(feedstock);
  const heavy = kg !== null && left !== null && over(kg, left);
  return (
    <small class="weight">
      {isFilled(amount) && weightWords(kg)}
      {heavy && <Glyph name="caution" size={14} />}
      {heavy && <span class={wide ? "" : "heard"}>{t("app.record.too_much")}</span>}
    </small>
  );
}

function usualHere({ journal, holding }: Here, form: Form) {
  // Fish feed is weighed by the gram: a scrap pail is offered only where somebody has fed by it.
  if (form.station.type === "pond" && !form.before.value.some(({ amount }) => isFilled(amount))) return null;
  const { near, far } = holding.feedstocksFor(form.station.type);
  const found = usual(
    form.log.entries.value,
    form.station.id,
    String(journal.kept.value["person"] ?? ""),
    holding.containers.value.map((one) => one.id).filter((id) => !holding.known.value.unmeasured.has(id)),
    [...near, ...far],
  );
  if (found === null) return null;
  return { ...found, name: holding.containers.value.find((one) => one.id === found.container)?.name ?? "" };
}
