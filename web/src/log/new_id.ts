/** Letters, digits and dashes of a name, for an id that other entries can point to. */
const slug = (text: string): string =>
  text
    .normalize("NFKD")
    .replace(/\p{M}+/gu, "")
    .replace(/[^0-9A-Za-z]+/g, "-")
    .replace(/^-+|-+$/g, "")
    .toLowerCase()
    .slice(0, 40);

/** An id made from what people call a thing, unlike those there are; `otherwise` where no letter is left. */
export function newId(name: string, taken: ReadonlySet<string>, otherwise: string): string {
  const base = slug(name) || otherwise;
  if (!taken.has(base)) return base;
  let number = 2;
  while (taken.has(`${base}-${number}`)) number += 1;
  return `${base}-${number}`;
}
