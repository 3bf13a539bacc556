import type { Journal } from "./log/journal";

/** How the app is lit. `auto` follows the phone; `sun` is black on white, for reading in bright sun. */
export const THEMES = ["auto", "light", "dark", "sun"] as const;
type Theme = (typeof THEMES)[number];

/** The theme somebody chose; one that a newer version kept counts as none. */
export function themeOf(journal: Journal): Theme {
  const kept = journal.kept.value["theme"];
  return THEMES.find((one) => one === kept) ?? "auto";
}

/** Into the sun mode, or back to the light there was before; kept on the phone. */
export async function turnSun(journal: Journal): Promise<void> {
  const now = themeOf(journal);
  const before = THEMES.find((one) => one === journal.kept.value["theme_before"]) ?? "auto";
  // Both are asked for at once: the light changes with the press, not when the first is on the disk.
  await Promise.all([
    now !== "sun" && journal.keep("theme_before", now),
    journal.keep("theme", now === "sun" ? before : "sun"),
  ]);
}
