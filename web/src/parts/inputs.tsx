import { addDays, localMinute, rfc3339 } from "../log/clock";
import { inDays, t, today } from "../words/words";

type Props = { label: string; value: unknown; onChange(value: unknown): void };

/** So much anybody reads at a bin. */
const MOST_LETTERS = 500;

const orNothing = (text: string) => (text.trim() === "" ? undefined : text);

export function TextInput({
  label,
  value,
  start,
  onChange,
  name = false,
}: Props & { start?: unknown; name?: boolean }) {
  return (
    <label class="typed">
      <span>{label}</span>
      <input
        type="text"
        value={String(value ?? "")}
        maxLength={name ? 40 : undefined}
        placeholder={typeof start === "string" ? start : ""}
        onInput={(event) => {
          const text = event.currentTarget.value;
          onChange(orNothing(name ? text.replace(/[^0-9A-Za-z_.:-]+/g, "-").replace(/^-+/, "") : text));
        }}
      />
    </label>
  );
}

/** A sentence or two. */
export function LongText({ label, value, onChange }: Props) {
  return (
    <label class="typed">
      <span>{label}</span>
      <textarea
        rows={3}
        maxLength={MOST_LETTERS}
        value={String(value ?? "")}
        onInput={(event) => onChange(orNothing(event.currentTarget.value))}
      />
    </label>
  );
}

export function TimeInput({ label, value, onChange }: Props) {
  return (
    <label class="typed">
      <span>{label}</span>
      <input
        type="datetime-local"
        value={typeof value === "string" ? localMinute(new Date(value)) : ""}
        onInput={(event) => {
          const text = event.currentTarget.value;
          onChange(text === "" ? undefined : rfc3339(new Date(text)));
        }}
      />
    </label>
  );
}

/** Most days that are typed are near: one press each for today and tomorrow. */
const NEAR_DAYS = [0, 1] as const;

export function DayInput({ label, value, onChange }: Props) {
  const near = NEAR_DAYS.map((days) => ({ days, day: addDays(today(), days) }));
  return (
    <>
      <label class="typed">
        <span>{label}</span>
        <input
          type="date"
          value={typeof value === "string" ? value : ""}
          onInput={(event) => onChange(orNothing(event.currentTarget.value))}
        />
      </label>
      <div class="near-days">
        {near.map(({ days, day }) => (
          <button
            key={day}
            type="button"
            class={`pick ${value === day ? "picked" : ""}`}
            aria-pressed={value === day}
            onClick={() => onChange(value === day ? undefined : day)}
          >
            <span class="first-large">{inDays(days)}</span>
          </button>
        ))}
      </div>
    </>
  );
}

export function Flag({ label, value, onChange }: Props) {
  return (
    <button
      type="button"
      class={`pick ${value === true ? "picked" : ""}`}
      aria-pressed={value === true}
      onClick={() => onChange(value === true ? undefined : true)}
    >
      <span>
        {label}
        <small>{t(value === true ? "app.yes" : "app.no")}</small>
      </span>
    </button>
  );
}
