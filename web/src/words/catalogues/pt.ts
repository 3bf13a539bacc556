import type { Catalogue } from "../words";

export default Object.assign(
  {},
  ...Object.values(
    import.meta.glob<Catalogue>(["@words/parts/*.pt.json", "!@words/parts/{terminal,sheet}.pt.json"], {
      eager: true,
      import: "default",
    }),
  ),
) as Catalogue;
