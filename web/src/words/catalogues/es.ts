import type { Catalogue } from "../words";

export default Object.assign(
  {},
  ...Object.values(
    import.meta.glob<Catalogue>(["@words/parts/*.es.json", "!@words/parts/{terminal,sheet}.es.json"], {
      eager: true,
      import: "default",
    }),
  ),
) as Catalogue;
