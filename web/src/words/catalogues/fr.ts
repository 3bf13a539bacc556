import type { Catalogue } from "../words";

export default Object.assign(
  {},
  ...Object.values(
    import.meta.glob<Catalogue>(["@words/parts/*.fr.json", "!@words/parts/{terminal,sheet}.fr.json"], {
      eager: true,
      import: "default",
    }),
  ),
) as Catalogue;
