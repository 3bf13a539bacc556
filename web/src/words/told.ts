import { type Entry, isFilled, isObject, isQuantity } from "../log/entry";
import type { Holding } from "../log/holding";
import { ENVELOPE } from "../log/knowledge";
import { sideName } from "./planned";
import { anything, has, measure, number, t } from "./words";

/** Entries in words, short enough for one line: `Fed: kitchen scraps, half a caddy (west side)`. */
export function entryWords(entry: Entry, holding: Holding): string {
  const station = entry.station ? holding.station(entry.station) : undefined;
  const kind = t(has(`app.kind.${entry.kind}`) ? `app.kind.${entry.kind}` : "app.kind.other", {
    kind: entry.kind,
  });
  const setUp = entry.kind === "setup" ? ["item", "set"] : [];
  const said = Object.entries(entry)
    .filter(([name, value]) => !ENVELOPE.has(name) && value !== null && value !== undefined)
    .filter(([name]) => !setUp.includes(name))
    .map(([name, value]) => fieldWords(entry.kind, name, value, holding))
    .concat(entry.kind === "setup" ? setUpName(entry, holding) : [])
    .filter((words) => words !== "");
  const side = entry.side ? [sideName(station, entry.side)] : [];
  return said.length + side.length === 0
    ? kind
    : t("app.entry.line", { kind, said: [...said, ...side].join(t("app.comma")) });
}

/** What people call the thing an entry sets up: as it says itself, else as it is known; there is but one place. */
function setUpName({ what, item, set }: Entry, holding: Holding): string {
  const own = isObject(set) ? set["name"] : undefined;
  const name = own ?? holding.item(String(what), String(item))?.fields["name"];
  return typeof name === "string" ? name : item === what ? "" : String(item);
}

/** Where an entry belongs, by its name. */
export const stationName = (entry: Entry, holding: Holding): string =>
  entry.station ? (holding.station(entry.station)?.name ?? entry.station) : "";

/** What is set up by an entry, a line a field; its name is told already. */
export function setUpWords(entry: Entry, holding: Holding): string[] {
  const set = entry.kind === "setup" && isObject(entry["set"]) ? entry["set"] : {};
  return Object.entries(set)
    .filter(([name]) => name !== "name")
    .map(([name, value]) =>
      t("app.entry.line", { kind: fieldName(name), said: setTo(name, value, holding) }),
    );
}

const setTo = (name: string, value: unknown, holding: Holding): string =>
  typeof value === "boolean" ? t(value ? "app.yes" : "app.no") : fieldWords("setup", name, value, holding);

/** One value in words; pointers by the names the place gave them, choices by the catalogue. */
export function fieldWords(kind: string, name: string, value: unknown, holding: Holding): string {
  if (kind === "setup" && name === "set" && isObject(value)) {
    return String(value["name"] ?? "");
  }
  // A reminder is known by its station and words, which the entry itself doesn't tell.
  if (name === "matter") return "";
  if (name === "person") return holding.people.value.find((one) => one.id === value)?.name ?? String(value);
  if (kind === "setup" && name === "what") return choiceWords("what", String(value));
  if (name === "feedstock") return feedstockWords(String(value), holding);
  if (name === "passed" && Array.isArray(value)) return t("app.entry.passed", { count: value.length });
  if (name === "photos" && Array.isArray(value)) return t("app.entry.photos", { count: value.length });
  if (isQuantity(value)) return measure(value.value, value.unit);
  if (name === "counts" && Array.isArray(value))
    return t("app.said.counts", { list: value.join(t("app.comma")) });
  if (isFilled(value)) return filledWords(value.container, value.filled ?? 1, holding);
  if (Array.isArray(value)) return value.map((one) => choiceWords(name, one)).join(t("app.comma"));
  const said = `app.said.${kind}.${name}`;
  if (typeof value === "number" && has(said)) return t(said, { value });
  if (typeof value === "number") return t("app.entry.number", { field: fieldName(name, kind), value });
  if (typeof value === "string") return choiceWords(name, value);
  return "";
}

/** A record and where it was made: `Feed · Stone trough`. */
export const recordName = (station: { readonly name: string }, kind: string): string =>
  `${t(`app.kind.${kind}`)} · ${station.name}`;

/** What a field is called, by the kind of entry where it means something else there. */
export function fieldName(name: string, kind = ""): string {
  const key = [`app.field.${kind}.${name}`, `app.field.${name}`].find(has);
  return key === undefined ? name.replaceAll("_", " ") : t(key);
}

export function choiceWords(field: string, value: unknown): string {
  if (typeof value === "number") return number(value);
  const key = `app.choice.${field}.${String(value)}`;
  if (has(key)) return t(key);
  return typeof value === "string" && !has(key) ? anything(value.replaceAll("_", " ")) : String(value);
}

export function feedstockWords(id: string, holding: Holding): string {
  const name = holding.feedstocks.value.find((one) => one.id === id)?.name;
  if (name) return name;
  const key = `feedstock.${id}`;
  return has(key) ? t(key) : id.replaceAll("_", " ");
}

const FRACTIONS: Readonly<Record<string, string>> = {
  "0.25": "quarter",
  "0.5": "half",
  "0.75": "three_quarters",
  "1": "whole",
};

export function filledWords(container: string, filled: number, holding: Holding): string {
  const name = holding.containers.value.find((one) => one.id === container)?.name ?? container;
  return t("app.entry.filled", { container: name, part: FRACTIONS[String(filled)] ?? "other", filled });
}
