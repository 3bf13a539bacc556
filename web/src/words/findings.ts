import type { Finding } from "../log/check";
import { fieldName } from "./told";
import { has, measure, t } from "./words";

/** What to mend in an entry, or what to look at again, in words. */
export function findingWords(found: Pick<Finding, "code" | "field" | "values">): string {
  const { code, field, values } = found;
  const unit = String(values["unit"] ?? "");
  const shown = (name: string) =>
    typeof values[name] === "number" ? measure(values[name], unit) : undefined;
  const mistaken = shown("mistaken");
  const key = mistaken !== undefined ? `app.problem.${code}.mistaken` : `app.problem.${code}`;
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
