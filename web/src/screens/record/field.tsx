import { useEffect, useRef } from "preact/hooks";
import { useHere } from "../../here";
import type { Finding } from "../../log/check";
import type { FieldRule } from "../../log/knowledge";
import { Amount } from "../../parts/amount";
import { Choice } from "../../parts/choice";
import { Dial } from "../../parts/dial";
import { GLYPHS } from "../../parts/glyphs";
import { DayInput, Flag, LongText, TextInput, TimeInput } from "../../parts/inputs";
import { SIGNS } from "../../parts/layout";
import { PhotoField } from "../../parts/photo_field";
import { Rest } from "../../parts/rest";
import { Scoops } from "../../parts/scoops";
import { boxName } from "../../parts/stack";
import { findingWords } from "../../words/findings";
import { choiceWords, feedstockWords, fieldName } from "../../words/told";
import { measure, t } from "../../words/words";

export type FieldProps = {
  name: string;
  rule: FieldRule;
  kind: string;
  stationType: string;
  value: unknown;
  /** Where to start from: what was last noted. */
  start: unknown;
  wrong: Finding | null;
  /** Words already in use here, one press each. */
  offers?: readonly string[];
  /** What an amount weighs, where that can be said. [kg] */
  weigh?(amount: unknown): number | null;
  onChange(value: unknown): void;
};

/** A field of any type the description knows, by the means that suits a thumb. */
export function Field(props: FieldProps) {
  const { wrong } = props;
  const place = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (wrong) place.current?.scrollIntoView({ block: "center" });
  }, [wrong]);
  return (
    <div ref={place} class={`field ${wrong ? "wrong" : ""}`}>
      <Means {...props} />
      {wrong && (
        <p class="finding" role="alert">
          {findingWords(wrong)}
        </p>
      )}
      {wrong && <OtherScale wrong={wrong} onChange={props.onChange} />}
    </div>
  );
}

/** It may have been read in the other scale: one press says so, and keeps the number as it was read. */
function OtherScale({ wrong, onChange }: Pick<FieldProps, "onChange"> & { wrong: Finding }) {
  const { value, mistaken } = wrong.values;
  if (typeof value !== "number" || typeof mistaken !== "number") return null;
  return (
    <button type="button" class="pick" onClick={() => onChange({ value, unit: "degF" })}>
      <span>
        {t("app.problem.was_other", {
          read_as: measure(value, "degF"),
          mistaken: measure(mistaken, "degC"),
        })}
      </span>
    </button>
  );
}

/** Kinds whose text is a sentence, not a name. */
const SENTENCES: ReadonlySet<string> = new Set(["question", "answer"]);

function Means(props: FieldProps) {
  const { name, rule, value, start, onChange } = props;
  const called = fieldName(name, props.kind);
  const label = props.rule.required ? called : t("app.field.optional", { field: called });
  switch (rule.type) {
    case "choice":
      return <Choices {...props} label={label} many={false} />;
    case "choices":
      return <Choices {...props} label={label} many />;
    case "name":
      return rule.of === "feedstock" ? (
        <Feedstocks {...props} label={label} />
      ) : props.offers?.length ? (
        <Offered {...props} label={label} named />
      ) : (
        <TextInput label={label} value={value} start={start} onChange={onChange} name />
      );
    case "quantity":
      return <Dial label={label} name={name} rule={rule} value={value} start={start} onChange={onChange} />;
    case "number":
    case "integer":
      return (
        <Dial label={label} name={name} rule={rule} value={value} start={start} onChange={onChange} plain />
      );
    case "amount":
      return (
        <Amount
          label={label}
          name={name}
          rule={rule}
          value={value}
          start={start}
          weigh={props.weigh}
          onChange={onChange}
        />
      );
    case "photos":
      return <PhotoField label={label} value={value} onChange={onChange} />;
    case "counts":
      return <Scoops label={label} rule={rule} value={value} onChange={onChange} />;
    case "time":
      return <TimeInput label={label} value={value} onChange={onChange} />;
    case "day":
      return <DayInput label={label} value={value} onChange={onChange} />;
    case "flag":
      return <Flag label={label} value={value} onChange={onChange} />;
    default:
      if (SENTENCES.has(props.kind)) return <LongText label={label} value={value} onChange={onChange} />;
      if (props.offers && props.offers.length > 0) return <Offered {...props} label={label} />;
      return <TextInput label={label} value={value} start={start} onChange={onChange} />;
  }
}

const ALL_WELL = "all_well";
/** What no list foresaw: a note or a photo says it. */
export const SOMETHING_ELSE = "something_else";

/** All is well, or something is seen: nobody means both. */
const goTogether = (one: string, other: string): boolean => one !== ALL_WELL && other !== ALL_WELL;

function Choices(props: FieldProps & { label: string; many: boolean }) {
  const { name, rule, value, start, many, label, onChange } = props;
  const { holding } = useHere();
  const offered =
    name === "signs"
      ? [...(SIGNS[props.stationType] ?? rule.choices ?? []), SOMETHING_ELSE, ALL_WELL]
      : holding.offered(rule.choices ?? []);
  const chosen = (many ? ((value as string[] | undefined) ?? []) : [value]).map(String);
  const choose = (one: string) => {
    if (!many) return onChange(one === value ? undefined : one);
    const rest = chosen.filter((other) => other !== one);
    const next = chosen.includes(one) ? rest : [...rest.filter((other) => goTogether(one, other)), one];
    onChange(next.length === 0 ? undefined : next);
  };
  return (
    <Choice
      legend={label}
      many={many}
      chosen={chosen}
      onChoose={choose}
      choices={offered.map((one) => ({
        value: one,
        words: choiceWords(name, one),
        ...(name === "squeeze" && one in GLYPHS ? { glyph: one } : {}),
        ...(name === "squeeze" && one === start ? { under: t("app.dial.last") } : {}),
      }))}
    />
  );
}

/** A word to type, or one of those in use here. */
function Offered({
  name,
  value,
  offers = [],
  label,
  onChange,
  named = false,
}: FieldProps & { label: string; named?: boolean }) {
  const typed = value !== undefined && !offers.includes(String(value));
  return (
    <>
      <Choice
        legend={label}
        chosen={[String(value ?? "")]}
        onChoose={(one) => onChange(one === value ? undefined : one)}
        choices={offers.map((one) => ({ value: one, words: name === "box" ? boxName(one) : one }))}
      />
      <details class="more" open={typed}>
        <summary>{t("app.record.another")}</summary>
        <TextInput label={label} value={typed ? value : undefined} onChange={onChange} name={named} />
      </details>
    </>
  );
}

function Feedstocks({ value, label, stationType, onChange }: FieldProps & { label: string }) {
  const { holding } = useHere();
  const { near, far } = holding.feedstocksFor(stationType);
  const choose = (one: string) => onChange(one === value ? undefined : one);
  const asChoices = (ids: readonly string[]) =>
    ids.map((id) => ({ value: id, words: feedstockWords(id, holding) }));
  const chosen = [String(value ?? "")];
  return (
    <>
      <Choice legend={label} chosen={chosen} onChoose={choose} choices={asChoices(near)} />
      {far.length > 0 && (
        <details class="more" open={far.includes(String(value))}>
          <summary>{t("app.record.other_feedstocks")}</summary>
          <Rest>
            <Choice
              legend={t("app.record.all_feedstocks")}
              chosen={chosen}
              onChoose={choose}
              choices={asChoices(far)}
            />
          </Rest>
        </details>
      )}
    </>
  );
}
