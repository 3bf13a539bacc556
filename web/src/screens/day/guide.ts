import type { Job } from "../../generated/shapes";
import type { Station } from "../../log/holding";
import { has } from "../../words/words";

/** What belongs to the plain steps of a job: a sight to compare with, and what to mind while doing it. */
type Lesson = { readonly sight?: string; readonly minds: readonly string[] };

/** Cautions name the sentences of the page of cautions; what the plan itself cautions of comes beside. */
const LESSONS: Readonly<Record<string, Lesson>> = {
  "bed.feed": { sight: "layer", minds: ["sharps", "hands"] },
  "bin.feed": { sight: "layer", minds: ["sharps", "hands"] },
  "pond.feed": { sight: "pond", minds: ["water"] },
  take_temperature: { sight: "thermometer", minds: ["hands"] },
  lay_bedding: { sight: "bedding", minds: ["castings_dust"] },
  count_scoops: { sight: "scoop", minds: ["castings_dust"] },
  switch_sides: { sight: "layer", minds: ["hands"] },
  harvest_castings: { sight: "castings", minds: ["castings_dust", "lifting"] },
  scrape_in_passes: { sight: "castings", minds: ["castings_dust", "lifting"] },
  count_larvae: { sight: "larvae", minds: ["hands"] },
  weigh_fifty: { sight: "fifty", minds: ["hands"] },
  look_at_leftovers: { sight: "leftover", minds: ["hands"] },
  clear_out: { sight: "castings", minds: ["castings_dust", "lifting"] },
  hold_prepupae: { sight: "larvae", minds: ["hands"] },
  "bed.look_in": { sight: "leftover", minds: ["hands"] },
  "bin.look_in": { sight: "larvae", minds: ["hands"] },
  "pond.look_in": { sight: "pond", minds: ["water"] },
  "hive.look_in": { sight: "hive", minds: ["bees"] },
};

/** By the kind of station, for what nobody has written steps for. */
const OF_TYPE: Readonly<Record<string, Lesson>> = {
  bed: { minds: ["hands"] },
  bin: { minds: ["hands"] },
  pond: { sight: "pond", minds: ["water"] },
  hive: { sight: "hive", minds: ["bees"] },
};

const MOST_STEPS = 9;

export function lessonOf(station: Station, job: Pick<Job, "what">): Lesson {
  const { type } = station;
  return LESSONS[`${type}.${job.what}`] ?? LESSONS[job.what] ?? OF_TYPE[type] ?? { minds: ["hands"] };
}

/** The keys of a job's steps, in order: those for this kind of station, those for all, or the plain ones. */
export function stepsOf(station: Station, job: Pick<Job, "what">): readonly string[] {
  for (const name of [`${station.type}.${job.what}`, job.what, "other"]) {
    const keys = Array.from({ length: MOST_STEPS }, (_, index) => `app.day.step.${name}.${index + 1}`);
    const found = keys.filter(has);
    if (found.length > 0) return found;
  }
  return [];
}
