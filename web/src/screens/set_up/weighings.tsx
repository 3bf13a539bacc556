import { useState } from "preact/hooks";
import { Dial } from "../../parts/dial";
import { measure, number, t } from "../../words/words";

/** The rule of a weight of a full container, for the dial. */
const RULE = { type: "quantity", bounds: "mass" } as const;
type Kilograms = { readonly value: number; readonly unit: string };

/** What several weighings of a full container say together: their mean, in the unit they were made in. */
export function mean(weighings: readonly Kilograms[]): Kilograms | null {
  const unit = weighings[0]?.unit;
  if (unit === undefined || weighings.some((one) => one.unit !== unit)) return null;
  const sum = weighings.reduce((all, one) => all + one.value, 0);
  return { value: Math.round((sum / weighings.length) * 1e4) / 1e4, unit };
}

/** A container weighed full, some times over: each weighing narrows what a fill of it weighs. */
export function Weighings({
  onChange,
}: {
  onChange(full: Kilograms | undefined, times: number | undefined): void;
}) {
  const [done, note] = useState<readonly Kilograms[]>([]);
  const [next, set] = useState<unknown>(undefined);
  const take = (weighings: readonly Kilograms[]) => {
    note(weighings);
    onChange(mean(weighings) ?? undefined, weighings.length || undefined);
  };
  const together = mean(done);
  return (
    <details class="more">
      <summary>{t("app.set_up.weigh")}</summary>
      <p>{t("app.set_up.weigh.about")}</p>
      <Dial
        label={t("app.set_up.weigh.one")}
        name="full_mass"
        rule={RULE}
        value={next}
        start={done.at(-1)}
        onChange={set}
      />
      <div class="buttons">
        <button
          type="button"
          class="plain"
          disabled={next === undefined}
          onClick={() => {
            take([...done, next as Kilograms]);
            set(undefined);
          }}
        >
          {t("app.set_up.weigh.add")}
        </button>
        {done.length > 0 && (
          <button type="button" class="plain" onClick={() => take(done.slice(0, -1))}>
            {t("app.set_up.weigh.drop")}
          </button>
        )}
      </div>
      {done.length > 0 && (
        <p role="status">
          {t("app.set_up.weigh.all", {
            list: done.map((one) => number(one.value)).join(", "),
            count: done.length,
          })}{" "}
          <strong>
            {together
              ? t("app.set_up.weigh.mean", { mean: measure(together.value, together.unit) })
              : t("app.set_up.weigh.units")}
          </strong>
        </p>
      )}
    </details>
  );
}
