import { afterEach, describe, expect, test } from "vitest";
import { changeOver, LANGUAGES, type Language, languageFor, localeFor } from "./language";
import { parse } from "./message";
import { locale, number, t } from "./words";

const OTHERS = (Object.keys(LANGUAGES) as Language[]).filter((one) => one !== "en");
const catalogues = import.meta.glob<Record<string, string>>("@words/parts/*.json", {
  eager: true,
  import: "default",
});

afterEach(() => changeOver("en", ["en"]));

test("the phone's first language that the app speaks is taken, unless somebody chose one", () => {
  expect(languageFor(undefined, ["nl-NL", "fr-CA", "en-US"])).toBe("fr");
  expect(languageFor("ja", ["fr-CA"])).toBe("ja");
  expect(languageFor("klingon", ["de"])).toBe("de");
  expect(languageFor(undefined, ["nl"])).toBe("en");
});

test("a language is written as its owner writes it", () => {
  expect(localeFor("pt", ["en-US", "pt-PT"])).toBe("pt-PT");
  expect(localeFor("de", ["en-US"])).toBe("de");
});

describe.each(OTHERS)("%s", (language) => {
  test("is fetched whole, and its messages can be read", async () => {
    await changeOver(language, ["en-GB"]);
    expect(locale.value).toBe(language);
    const texts = Object.entries(catalogues)
      .filter(([path]) => path.endsWith(`.${language}.json`))
      .flatMap(([, part]) => Object.values(part));
    expect(texts.length).toBeGreaterThan(0);
    for (const text of texts) expect(() => parse(text)).not.toThrow();
    expect(t("app.close")).not.toBe("Close");
  });
});

test("numbers follow the language that was chosen", async () => {
  await changeOver("de", ["en-GB"]);
  expect(number(12.5)).toBe("12,5");
});

test("the language chosen last stands, however long the one before takes to come", async () => {
  const slow = changeOver("fr", []);
  await changeOver("en", []);
  await slow;
  expect(locale.value).toBe("en");
});
