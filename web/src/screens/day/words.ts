import { type Catalogue, teach } from "../../words/words";

/** The steps and sights of a first day are many words: they come with their screen. */
for (const words of Object.values(
  import.meta.glob<Catalogue>("@words/parts/guide.en.json", { eager: true, import: "default" }),
)) {
  teach(words);
}
