import { type Entry, isObject } from "./entry";

/** One thing set up: its id, and its fields as entered. */
export type Item = { readonly id: string; readonly fields: Readonly<Record<string, unknown>> };

/** Everything set up, by what it is. */
export type SetUp = Readonly<Record<string, ReadonlyMap<string, Item>>>;

/**
 * Put set-up entries together, field by field: the later `at` wins, ties by id.
 *
 * @param newest the log as it stands, newest first.
 */
export function foldSetUp(newest: readonly Entry[]): SetUp {
  const found: Record<string, Map<string, Item>> = {};
  for (const entry of [...newest].reverse()) {
    const { what, item, set } = entry as Record<string, unknown>;
    if (entry.kind !== "setup" || typeof item !== "string" || !isObject(set)) continue;
    found[String(what)] ??= new Map();
    const items = found[String(what)];
    items?.set(item, { id: item, fields: { ...items.get(item)?.fields, ...set } });
  }
  return found;
}

export const text = (item: Item | undefined, field: string): string => {
  const value = item?.fields[field];
  return typeof value === "string" ? value : "";
};
