import { useState } from "preact/hooks";
import { useHere } from "../here";
import { isFilled } from "../log/entry";
import type { FieldRule } from "../log/knowledge";
import { byEye } from "../log/rounded";
import { to } from "../route";
import { mass, number, t } from "../words/words";
import { Choice } from "./choice";
import { Dial } from "./dial";
import { FRACTION_SIGNS, PARTS_OF_A_CONTAINER } from "./layout";

const WEIGHED = "";

/** What a fill of a container weighs, short enough to stand under it. */
export const weightWords = (kg: number | null | undefined): string =>
  typeof kg === "number" ? mass(byEye(kg)) : "";

/** How much: so much of a container that stands about, or a weight or volume. */
export function Amount({
  label,
  name,
  rule,
  value,
  start,
  weigh,
  onChange,
}: {
  label: string;
  name: string;
  rule: FieldRule;
  value: unknown;
  start: unknown;
  /** What an amount weighs, where that can be said. [kg] */
  weigh?: ((amount: unknown) => number | null) | undefined;
  onChange(value: unknown): void;
}) {
  const { holding } = useHere();
  const containers = holding.containers.value;
  const [chosen, choose] = useState<string | null>(null);
  const usual = isFilled(start)
    ? start.container
    : containers.length > 0 && start === undefined
      ? containers[0]?.id
      : WEIGHED;
  const by = isFilled(value) ? value.container : value !== undefined ? WEIGHED : (chosen ?? usual ?? WEIGHED);
  const pick = (one: string) => {
    choose(one);
    onChange(undefined);
  };
  return (
    <div class="amount">
      {containers.length > 0 && (
        <Choice
          legend={label}
          chosen={[by]}
          onChoose={pick}
          choices={[
            ...containers.map((one) => ({ value: one.id, words: one.name })),
            { value: WEIGHED, words: t("app.amount.weighed") },
          ]}
        />
      )}
      {containers.length === 0 && (
        <p class="soft">
          <a href={to("place", "containers")}>{t("app.amount.no_container")}</a>
        </p>
      )}
      {by === WEIGHED ? (
        <Dial
          label={containers.length > 0 ? t("app.amount.measure") : label}
          name={name}
          rule={rule}
          value={value}
          start={isFilled(start) ? undefined : start}
          onChange={onChange}
        />
      ) : (
        <Choice
          legend={t("app.amount.filled")}
          narrow
          chosen={[isFilled(value) ? String(value.filled ?? 1) : ""]}
          onChoose={(part) => onChange({ container: by, filled: Number(part) })}
          choices={PARTS_OF_A_CONTAINER.map((part) => ({
            value: String(part),
            words: FRACTION_SIGNS[part] ?? number(part),
            under: weightWords(weigh?.({ container: by, filled: part })),
          }))}
        />
      )}
    </div>
  );
}
