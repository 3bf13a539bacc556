import { useEffect, useMemo } from "preact/hooks";
import { useHere } from "../here";
import { knowledge } from "../log/knowledge";
import { Amount } from "../parts/amount";
import { Choice } from "../parts/choice";
import { Glyph } from "../parts/glyph";
import { Head } from "../parts/screen";
import { leave, route } from "../route";
import { findingWords } from "../words/findings";
import { feedstockWords, fieldWords } from "../words/told";
import { t } from "../words/words";
import { AnswerPart } from "./bucket/answer";
import { type Bucket, openBucket } from "./bucket/bucket";

/** What is in the bucket, and at once where it goes: two presses for half a pail of one thing. */
export function BucketScreen() {
  const here = useHere();
  const { journal, fold } = here;
  const [, feedstock, of, much] = route.value;
  const bucket = useMemo(() => {
    const opened = openBucket(here);
    if (feedstock && of && much) opened.begin(feedstock, of, Number(much));
    return opened;
  }, []);
  const asked = JSON.stringify(bucket.known.value);
  const plan = journal.plan.value?.gotAt;
  const { phase } = fold.state.value;
  const from = location.hash;
  // Asked again whenever the bucket, the plan or the planner on the phone changes.
  useEffect(() => void bucket.ask(), [asked, plan, phase]);
  return (
    <form
      class="record bucket"
      onSubmit={(event) => {
        event.preventDefault();
        void bucket.record().then((saved) => saved && leave(["round"], from));
      }}
    >
      <Head title={t("app.bucket.title")} />
      <Chosen bucket={bucket} />
      {bucket.open.value === null ? (
        bucket.choosing.value && <Things bucket={bucket} />
      ) : (
        <Much bucket={bucket} />
      )}
      {bucket.known.value.length > 0 && <AnswerPart bucket={bucket} />}
      <RecordBar bucket={bucket} />
    </form>
  );
}

/** What is in it so far: a press changes how much, or takes it out again. */
function Chosen({ bucket }: { bucket: Bucket }) {
  const { holding } = useHere();
  const parts = bucket.parts.value;
  if (parts.length === 0) return null;
  return (
    <>
      <ul class="plain-list rows in-bucket">
        {parts.map((one, index) => (
          <li key={one.feedstock}>
            <button
              type="button"
              class="row"
              onClick={() => {
                bucket.open.value = bucket.open.value === index ? null : index;
                bucket.choosing.value = false;
              }}
            >
              <span>
                <strong>{feedstockWords(one.feedstock, holding)}</strong>
                <small>
                  {one.amount === undefined
                    ? t("app.bucket.how_much")
                    : fieldWords("feed", "amount", one.amount, holding)}
                </small>
              </span>
            </button>
            <button
              type="button"
              class="take-out"
              aria-label={t("app.bucket.take_out", { what: feedstockWords(one.feedstock, holding) })}
              onClick={() => bucket.drop(index)}
            >
              <Glyph name="cross" size={22} />
            </button>
          </li>
        ))}
      </ul>
      {bucket.open.value === null && !bucket.choosing.value && (
        <button
          type="button"
          class="plain"
          onClick={() => {
            bucket.choosing.value = true;
          }}
        >
          {t("app.bucket.more")}
        </button>
      )}
    </>
  );
}

function Things({ bucket }: { bucket: Bucket }) {
  const { holding } = useHere();
  const { near, far } = holding.scraps();
  const chosen = bucket.parts.value.map((one) => one.feedstock);
  const choices = (ids: readonly string[]) =>
    ids.map((id) => ({ value: id, words: feedstockWords(id, holding) }));
  return (
    <>
      <Choice
        legend={t("app.bucket.what")}
        many
        chosen={chosen}
        onChoose={bucket.choose}
        choices={choices(near)}
      />
      {far.length > 0 && (
        <details class="more">
          <summary>{t("app.record.other_feedstocks")}</summary>
          <Choice
            legend={t("app.bucket.all")}
            many
            chosen={chosen}
            onChoose={bucket.choose}
            choices={choices(far)}
          />
        </details>
      )}
    </>
  );
}

function Much({ bucket }: { bucket: Bucket }) {
  const { journal, holding } = useHere();
  const index = bucket.open.value as number;
  const one = bucket.parts.value[index];
  const rule = knowledge.kinds["feed"]?.fields["amount"];
  if (one === undefined || rule === undefined) return null;
  const before = journal.entries.value.find(
    (entry) => entry.kind === "feed" && entry["feedstock"] === one.feedstock,
  );
  const found = one.amount === undefined ? null : bucket.judged(one);
  return (
    <div class={`field ${found ? "wrong" : ""}`}>
      <Amount
        key={one.feedstock}
        label={t("app.bucket.how_much_of", { what: feedstockWords(one.feedstock, holding) })}
        name="amount"
        rule={rule}
        value={one.amount}
        start={before?.["amount"]}
        onChange={(amount) => bucket.amount(index, amount, isFilledWhole(amount, bucket, index))}
      />
      {found && (
        <p class="finding" role="alert">
          {findingWords(found)}
        </p>
      )}
    </div>
  );
}

/** A part of a container is said by one press, and nothing has to be mended in it. */
function isFilledWhole(amount: unknown, bucket: Bucket, index: number): boolean {
  const filled = typeof amount === "object" && amount !== null && "container" in amount;
  const one = bucket.parts.value[index];
  return filled && one !== undefined && bucket.judged({ ...one, amount }) === null;
}

function RecordBar({ bucket }: { bucket: Bucket }) {
  const found = bucket.finding.value;
  const count = bucket.drafts().length;
  return (
    <div class="save-bar">
      {found && (
        <p class="finding" role="alert">
          {findingWords(found)}
        </p>
      )}
      <div class="bar">
        <button type="button" class="aside" onClick={() => leave(["round"])}>
          {t("app.record.cancel")}
        </button>
        <button type="submit" class="main" disabled={count === 0}>
          {t(found?.ask ? "app.record.save_anyway" : "app.bucket.record", { count })}
        </button>
      </div>
    </div>
  );
}
