import type { Catalogue } from "../words";

export default Object.assign(
  {},
  ...Object.values(
    import.meta.glob<Catalogue>(["@words/parts/*.de.json", "!@words/parts/{terminal,sheet}.de.json"], {
      eager: true,
      import: "default",
    }),
  ),
) as Catalogue;
