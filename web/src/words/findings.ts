import type { Finding } from "../log/check";
import { fieldName } from "./told";
import { has, measure, t } from "./words";

/** One of several values is wanted: none of their fields is to blame. */
export const anyOf = (found: Pick<Finding, "values">): boolean => "any_of" in found.values;

/** What to mend in an entry, or what to look at again, in words. */
export function findingWords(found: Pick<Finding, "code" | "field" | "values">): string {
  const { code, field, values } = found;
  const unit = String(values["unit"] ?? "");
  const shown = (name: string) =>
    typeof values[name] === "number" ? measure(values[name], unit) : undefined;
  const mistaken = shown("mistaken");
  const sort = mistaken !== undefined ? ".mistaken" : anyOf(found) ? ".any_of" : "";
  const key = `app.problem.${code}${sort}`;
  return t(has(key) ? key : "app.problem.other", {
    ...values,
    field: fieldName(field.replace(/^set\./, "").split(".")[0] ?? field),
    shown: shown("value") ?? values["value"],
    low: shown("low"),
    high: shown("high"),
    read_as: typeof values["value"] === "number" ? measure(values["value"], "degF") : undefined,
    mistaken,
  });
}
