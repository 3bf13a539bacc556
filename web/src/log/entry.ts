import type { Envelope } from "../generated/syncshapes";

/** What a person did, saw or set up: the envelope, then the fields of its kind as entered. */
export type Entry = Envelope & { readonly [field: string]: unknown };

/** An entry before it has an id and a time of its own. */
export type Draft = Readonly<Record<string, unknown>> & { readonly kind: string };

/** An entry the phone or the service set aside, with what to mend. */
export type Held = {
  readonly id: string;
  readonly entry: Entry;
  readonly code: string;
  readonly field: string;
  readonly why: string;
  readonly values: Readonly<Record<string, unknown>>;
  /** A person chose to let it go; the service hasn't been told yet. */
  readonly dropped?: boolean;
};

/** A quantity as entered: never converted on its way to the log. */
export type Quantity = { readonly value: number; readonly unit: string };

/** So much of a container. */
export type Filled = { readonly container: string; readonly filled?: number };

export const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);

export const isQuantity = (value: unknown): value is Quantity =>
  isObject(value) && typeof value["value"] === "number" && typeof value["unit"] === "string";

export const isFilled = (value: unknown): value is Filled =>
  isObject(value) && typeof value["container"] === "string";

/** Whether an entry that came says what ours says; `seq` and `received_at` are the service's own words. */
export function sameContent(ours: Entry, came: Entry | undefined): boolean {
  if (came === undefined) return false;
  const { seq: _, received_at: __, ...theirs } = came as Entry & Record<string, unknown>;
  return alike(ours, theirs);
}

function alike(one: unknown, other: unknown): boolean {
  if (Array.isArray(one) && Array.isArray(other)) {
    return one.length === other.length && one.every((value, index) => alike(value, other[index]));
  }
  if (!isObject(one) || !isObject(other)) return one === other;
  const names = Object.keys(one);
  return (
    names.length === Object.keys(other).length &&
    names.every((name) => name in other && alike(one[name], other[name]))
  );
}
