/**
 * ICU messages, as much as the catalogues use: `{name}`, `{n, number}`, `{kg, number, mass}` (a mass in
 * kilograms, said with the unit its size asks for), `{n, plural, …}`, `{x, select, …}`, `#`, and quoting by apostrophes. Compared with a full library in the tests.
 */
export type Part =
  | string
  | { readonly type: "argument" | "number" | "mass"; readonly name: string }
  | { readonly type: "count" }
  | {
      readonly type: "plural" | "select";
      readonly name: string;
      readonly options: Readonly<Record<string, readonly Part[]>>;
    };

export type Values = Readonly<Record<string, unknown>>;

/** How values become text: numbers and dates as the reader writes them. */
export type Writer = {
  readonly locale: string;
  value(value: unknown): string;
  /** A mass with its unit. [kg] */
  mass(kg: unknown): string;
};

class Reader {
  private at = 0;
  constructor(private readonly text: string) {}

  parts(inPlural: boolean, nested: boolean): Part[] {
    const parts: Part[] = [];
    let plain = "";
    const flush = () => {
      if (plain !== "") parts.push(plain);
      plain = "";
    };
    while (this.at < this.text.length) {
      const mark = this.text[this.at];
      if (mark === "'") plain += this.quoted(inPlural);
      else if (mark === "{") {
        flush();
        parts.push(this.argument());
      } else if (mark === "}" && nested) break;
      else if (mark === "#" && inPlural) {
        flush();
        parts.push({ type: "count" });
        this.at += 1;
      } else {
        plain += mark;
        this.at += 1;
      }
    }
    flush();
    return parts;
  }

  /** Two apostrophes are one; one before a mark of the grammar quotes up to the next. */
  private quoted(inPlural: boolean): string {
    const next = this.text[this.at + 1];
    if (next === "'") {
      this.at += 2;
      return "'";
    }
    if (next !== "{" && next !== "}" && !(next === "#" && inPlural)) {
      this.at += 1;
      return "'";
    }
    const end = this.text.indexOf("'", this.at + 1);
    const stop = end < 0 ? this.text.length : end;
    const plain = this.text.slice(this.at + 1, stop);
    this.at = stop + 1;
    return plain;
  }

  private argument(): Part {
    this.at += 1;
    const name = this.word();
    if (this.taken("}")) return { type: "argument", name };
    this.need(",");
    const type = this.word();
    if (type === "number") {
      if (this.taken("}")) return { type, name };
      this.need(",");
      const style = this.word();
      if (style !== "mass") throw new SyntaxError(`no such style of a number: ${style} in ${this.text}`);
      this.need("}");
      return { type: "mass", name };
    }
    if (type !== "plural" && type !== "select") {
      throw new SyntaxError(`no such kind of argument: ${type} in ${this.text}`);
    }
    this.need(",");
    const options: Record<string, Part[]> = {};
    while (!this.taken("}")) {
      const option = this.word();
      this.need("{");
      options[option] = this.parts(type === "plural", true);
      this.need("}");
    }
    return { type, name, options };
  }

  private word(): string {
    const found = /^\s*([^\s,{}]+)\s*/.exec(this.text.slice(this.at));
    if (found === null) throw new SyntaxError(`a name is missing at ${this.at} in ${this.text}`);
    this.at += found[0].length;
    return found[1] as string;
  }

  private taken(mark: string): boolean {
    while (this.text[this.at]?.trim() === "") this.at += 1;
    if (this.text[this.at] !== mark) return false;
    this.at += 1;
    return true;
  }

  private need(mark: string): void {
    if (!this.taken(mark)) throw new SyntaxError(`${mark} is missing at ${this.at} in ${this.text}`);
  }
}

export const parse = (text: string): Part[] => new Reader(text).parts(false, false);

export function format(parts: readonly Part[], values: Values, writer: Writer, count = 0): string {
  return parts
    .map((part) => {
      if (typeof part === "string") return part;
      if (part.type === "count") return writer.value(count);
      const value = values[part.name];
      if (part.type === "mass") return writer.mass(value);
      if (!("options" in part)) return writer.value(part.type === "number" ? Number(value) : value);
      const amount = part.type === "plural" ? Number(value) : 0;
      return format(chosen(part.options, value, part.type, writer), values, writer, amount);
    })
    .join("");
}

function chosen(
  options: Readonly<Record<string, readonly Part[]>>,
  value: unknown,
  type: "plural" | "select",
  writer: Writer,
): readonly Part[] {
  const exact = options[type === "plural" ? `=${String(value)}` : String(value)];
  const rule = type === "plural" ? pluralRules(writer.locale).select(Number(value)) : "";
  return exact ?? options[rule] ?? options["other"] ?? [];
}

const rules = new Map<string, Intl.PluralRules>();

function pluralRules(locale: string): Intl.PluralRules {
  const found = rules.get(locale) ?? new Intl.PluralRules(locale);
  rules.set(locale, found);
  return found;
}
