import type { Catalogue } from "./words";
import { speak } from "./words";

/** Each by its own name, so that whoever reads it finds it whatever the app speaks now. */
export const LANGUAGES = {
  en: "English",
  es: "Español",
  pt: "Português",
  fr: "Français",
  de: "Deutsch",
  ja: "日本語",
} as const;

export type Language = keyof typeof LANGUAGES;

/** Each is a file of its own, all of them kept for the time without signal. */
const FETCH: Readonly<Record<Language, () => Promise<Catalogue>>> = {
  en: async () => (await import("./catalogues/en")).default,
  es: async () => (await import("./catalogues/es")).default,
  pt: async () => (await import("./catalogues/pt")).default,
  fr: async () => (await import("./catalogues/fr")).default,
  de: async () => (await import("./catalogues/de")).default,
  ja: async () => (await import("./catalogues/ja")).default,
};

const base = (tag: string): string => tag.toLowerCase().split("-")[0] ?? "";
const isLanguage = (one: unknown): one is Language =>
  typeof one === "string" && Object.hasOwn(LANGUAGES, one);

/** The language somebody chose on this phone, else the first of theirs that the app speaks. */
export function languageFor(chosen: unknown, theirs: readonly string[]): Language {
  return isLanguage(chosen) ? chosen : (theirs.map(base).find(isLanguage) ?? "en");
}

/** The same language as its owner writes it: `es-MX` orders days and signs otherwise than `es`. */
export function localeFor(language: Language, theirs: readonly string[]): string {
  return theirs.find((tag) => base(tag) === language) ?? language;
}

let wanted: Language = "en";

/** Change over to a language. Where its words can't be had yet, those there are stay until there is signal. */
export async function changeOver(
  chosen: unknown,
  theirs: readonly string[] = navigator.languages,
): Promise<void> {
  const language = languageFor(chosen, theirs);
  wanted = language;
  try {
    const catalogue = await FETCH[language]();
    // Somebody may have chosen another while this one was fetched.
    if (wanted === language) speak(catalogue, localeFor(language, theirs));
  } catch {
    addEventListener("online", () => void changeOver(chosen, theirs), { once: true });
  }
}
