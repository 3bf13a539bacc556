import type { Catalogue } from "./words";
import { learn, speak } from "./words";

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
const FETCH: Readonly<Record<Language, () => Promise<typeof import("words:en")>>> = {
  en: () => import("./catalogues/en"),
  es: () => import("./catalogues/es"),
  pt: () => import("./catalogues/pt"),
  fr: () => import("./catalogues/fr"),
  de: () => import("./catalogues/de"),
  ja: () => import("./catalogues/ja"),
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
let unread: (() => Promise<{ default: Catalogue }>) | null = null;

/** Change over to a language. Where its words can't be had yet, those there are stay until there is signal. */
export async function changeOver(
  chosen: unknown,
  theirs: readonly string[] = navigator.languages,
): Promise<void> {
  const language = languageFor(chosen, theirs);
  wanted = language;
  try {
    const { default: catalogue, later } = await FETCH[language]();
    // Somebody may have chosen another while this one was fetched.
    if (wanted !== language) return;
    speak(catalogue, localeFor(language, theirs));
    unread = later;
  } catch {
    addEventListener("online", () => void changeOver(chosen, theirs), { once: true });
  }
}

/** Fetch what the first screens don't say: the names of constants. What says them meanwhile says their keys. */
export async function readOn(): Promise<void> {
  const later = unread;
  if (later === null) return;
  try {
    const { default: more } = await later();
    if (unread !== later) return;
    learn(more);
    unread = null;
  } catch {
    // Without signal and not kept yet: the next working asks again.
  }
}
