import { rfc3339 } from "../log/clock";
import type { Draft } from "../log/entry";
import { newId } from "../log/new_id";
import { t } from "../words/words";

/** The few questions of the first set-up, and those that can as well wait. */
export const ASKED: Readonly<Record<string, { first: readonly string[]; later: readonly string[] }>> = {
  bed: {
    first: ["name", "side_area", "started"],
    later: ["side_a_name", "side_b_name", "feeding_side", "side_depth", "start_worms"],
  },
  bin: { first: ["name", "bin_area", "started"], later: ["bin_depth"] },
  pond: { first: ["name", "area"], later: ["volume", "fish_stock"] },
  hive: { first: ["name", "boxes"], later: [] },
};

/** The place is most likely where the phone is. */
const zone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone;

/** How long a station has been going: a rough answer is enough for a start. */
export const GOING: Readonly<Record<string, number>> = { today: 0, weeks: 30, months: 182 };

/** The start that such an answer means, as entries write it. */
export const startedAt = (going: string, now: Date): string =>
  rfc3339(new Date(now.getTime() - (GOING[going] ?? 0) * 86_400_000));

export type Answers = Readonly<Record<string, Readonly<Record<string, unknown>>>>;

/** The set-up entries that answer the questions: the stations in the order they were chosen, place, person. */
export function setUps(chosen: readonly string[], answers: Answers): Draft[] {
  const taken = new Set<string>();
  const stations = chosen.map((type, index) => {
    const item = newId(String(answers[type]?.["name"] ?? type), taken, type);
    taken.add(item);
    const set = { type, order: index + 1, name: t(`app.choice.type.${type}`), ...answers[type] };
    return { kind: "setup", what: "station", item, set };
  });
  const place = answers["place"]?.["name"];
  const me = answers["person"]?.["name"];
  const person = {
    kind: "setup",
    what: "person",
    item: newId(String(me ?? ""), new Set(), "host"),
    set: { name: me, role: "host" },
  };
  return [
    ...stations,
    {
      kind: "setup",
      what: "place",
      item: "place",
      set: { ...(place ? { name: place } : {}), time_zone: zone() },
    },
    ...(me ? [person] : []),
    ...carried(answers["container"]),
  ];
}

/** What scraps are carried in, if that was answered. */
function carried(answered: Answers[string] = {}): Draft[] {
  const { name, volume } = answered;
  if (name === undefined && volume === undefined) return [];
  const called = String(name ?? t("app.begin.container"));
  const item = newId(called, new Set(), "container");
  const set = { name: called, ...(volume === undefined ? {} : { volume }) };
  return [{ kind: "setup", what: "container", item, set }];
}
