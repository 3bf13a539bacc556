import { useState } from "preact/hooks";
import { useHere } from "../here";
import { isQuantity } from "../log/entry";
import { boundsOf, type FieldRule } from "../log/knowledge";
import { fromSi, symbol, toSi, unitsOf } from "../log/units";
import { number, readNumber, t } from "../words/words";
import { FIRST_UNIT, isHour, OFFERED, OFTEN_NONE, stepsOf } from "./layout";
import { nearby } from "./nearby";

/** A number chosen near to where it was last, set by large and small presses, or typed. */
export function Dial({
  label,
  name,
  rule,
  value,
  start,
  onChange,
  plain = false,
}: {
  label: string;
  name: string;
  rule: FieldRule;
  value: unknown;
  start: unknown;
  onChange(value: unknown): void;
  /** A bare number: no unit goes with it. */
  plain?: boolean;
}) {
  const { journal } = useHere();
  const siUnits = Object.keys(boundsOf(rule));
  const offered = plain ? [] : OFFERED.filter((unit) => unitsOf(siUnits).includes(unit));
  const [chosen, choose] = useState<string | null>(null);
  const habit = (journal.kept.value["units"] as Record<string, string> | undefined)?.[name];
  const unit =
    chosen ??
    (isQuantity(value)
      ? value.unit
      : (habit ?? (isQuantity(start) ? start.unit : (FIRST_UNIT[name] ?? offered[0] ?? ""))));
  const set = asNumber(value);
  const from = isQuantity(start) ? inUnit(start.value, start.unit, unit) : asNumber(start);
  const ghost = from ?? middle(rule, unit, plain);
  const [typed, type] = useState<string | null>(null);
  const give = (next: number | undefined) => {
    if (next === undefined) return onChange(undefined);
    onChange(plain ? next : { value: next, unit });
  };
  const press = (step: number) => {
    type(null);
    give(held(rounded((set ?? ghost ?? 0) + step, rule), rule, plain));
  };
  const turn = () => {
    const next = offered[(offered.indexOf(unit) + 1) % offered.length] ?? unit;
    choose(next);
    void journal.keep("units", { ...(journal.kept.value["units"] as object), [name]: next });
    if (set !== undefined) onChange({ value: rounded(inUnit(set, unit, next), rule), unit: next });
  };
  const [small, large] = stepsOf(name, unit, rule.bounds);
  const near =
    ghost === undefined
      ? []
      : nearby(ghost, isHour(name) ? "hour" : unit, small).filter((one) => held(one, rule, plain) === one);
  const shown = OFTEN_NONE.has(name) && !near.includes(0) ? [0, ...near.slice(1)] : near;
  const unitSaid = plain ? "" : symbol(unit);
  return (
    <fieldset class="dial">
      <legend>{label}</legend>
      <div class="dial-value">
        <input
          type="text"
          inputMode="decimal"
          aria-label={label}
          class={set === undefined ? "ghost" : ""}
          value={typed ?? (set === undefined ? "" : number(set))}
          placeholder={ghost === undefined ? "0" : number(ghost)}
          onInput={(event) => {
            const text = event.currentTarget.value;
            type(text);
            give(readNumber(text));
          }}
          onBlur={() => type(null)}
        />
        {offered.length > 0 && (
          <button
            type="button"
            class="unit"
            onClick={turn}
            aria-label={t("app.dial.unit", { unit: symbol(unit) })}
          >
            {symbol(unit)}
          </button>
        )}
      </div>
      {ghost !== undefined && (
        <div class="dial-near">
          {shown.map((one) => (
            <button
              key={one}
              type="button"
              class={`${one === set ? "picked" : ""} ${wide(number(one), 3)}`}
              aria-pressed={one === set}
              onClick={() => {
                type(null);
                give(one);
              }}
            >
              {number(one)}
              {unitSaid && <span class="heard"> {unitSaid}</span>}
              {one === from && <small>{t("app.dial.last")}</small>}
            </button>
          ))}
        </div>
      )}
      <div class="dial-steps">
        {[-large, -small, small, large].map((step) => {
          const said = step < 0 ? number(step) : `+${number(step)}`;
          return (
            <button key={step} type="button" class={wide(said, 3.5)} onClick={() => press(step)}>
              {said}
            </button>
          );
        })}
      </div>
    </fieldset>
  );
}

/** How a number is set so that it stays whole on its button, which has room for so many digits. */
function wide(said: string, room: number): string {
  const signs = said.length - said.replace(/[.,\s]/g, "").length;
  const size = said.length - signs / 2;
  return size > room + 1 ? "widest" : size > room ? "wide" : "";
}

function asNumber(value: unknown): number | undefined {
  if (isQuantity(value)) return value.value;
  return typeof value === "number" ? value : undefined;
}

function inUnit(value: number, from: string, unit: string): number {
  const si = toSi(value, from);
  return si === null ? value : fromSi(si.value, unit);
}

/** Where nothing was ever noted: the middle of what is usual, if the description knows both ends. */
function middle(rule: FieldRule, unit: string, plain: boolean): number | undefined {
  const bound = plain ? rule : boundsOf(rule)[toSi(0, unit)?.unit ?? ""];
  if (bound?.ask_low === undefined || bound.ask_high === undefined) return undefined;
  const half = (bound.ask_low + bound.ask_high) / 2;
  return rounded(plain ? half : fromSi(half, unit), rule);
}

/** A press goes no further than a bare number can be. */
const held = (value: number, rule: FieldRule, plain: boolean): number =>
  plain ? Math.min(rule.high ?? Infinity, Math.max(rule.low ?? -Infinity, value)) : value;

/** Steps of a tenth in floating point leave dust; a thumb means no more than four decimals. */
function rounded(value: number, rule: FieldRule): number {
  const floor = rule.type === "integer" ? Math.round(value) : Math.round(value * 1e4) / 1e4;
  return (rule.low ?? 0) >= 0 && rule.bounds !== "temperature" ? Math.max(0, floor) : floor;
}
