import type { Catalogue } from "../words";

export default Object.assign(
  {},
  ...Object.values(
    import.meta.glob<Catalogue>(["@words/parts/*.ja.json", "!@words/parts/{terminal,sheet}.ja.json"], {
      eager: true,
      import: "default",
    }),
  ),
) as Catalogue;
