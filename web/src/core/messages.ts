/** What the page says to the worker. Entries and plans travel as text of JSON. */
export type Asked =
  /** Start the interpreter; `restore` allows the memory kept from an earlier start. */
  | { readonly type: "open"; readonly restore: boolean; readonly life: string }
  /** Begin again with an empty log. */
  | { readonly type: "forget" }
  /** Take entries in: the JSON of a list. */
  | { readonly type: "take"; readonly text: string }
  | { readonly type: "plan"; readonly ask: number; readonly at: string }
  /** Something about the log: where a bucket goes, or the tally of other days. */
  | {
      readonly type: "question";
      readonly ask: number;
      readonly name: "route" | "tally";
      readonly text: string;
      readonly at: string;
    }
  /** Keep the memory for the next start; `loose` are the entries in it that may still change. */
  | { readonly type: "keep"; readonly loose: string };

/** How the interpreter came to be: as it was kept, or from nothing. */
export type Boot = "restored" | "plain";

/** What the worker says to the page. */
export type Told =
  /** Its files are being fetched, since not all of them are here. */
  | { readonly type: "fetching" }
  /** They can't be fetched at present; nothing is wrong with the worker. */
  | { readonly type: "unfetched" }
  /** It is ready. `holds` are the ids, one a line, of entries a restored memory has in it; see `loose`. */
  | {
      readonly type: "opened";
      readonly boot: Boot;
      readonly ms: number;
      readonly holds: string;
      readonly loose: string;
    }
  | { readonly type: "planned"; readonly ask: number; readonly text: string; readonly ms: number }
  /** The fold could not plan this log; the worker lives on. */
  | { readonly type: "unplanned"; readonly ask: number; readonly detail: string }
  /** The answer to a question, as JSON; null where there is none. */
  | { readonly type: "answered"; readonly ask: number; readonly text: string | null }
  /** The memory is kept; no bytes if there is no room. */
  | { readonly type: "kept"; readonly bytes: number; readonly ms: number }
  /** It could not start, or broke; the page lets it go. */
  | { readonly type: "broken"; readonly detail: string };
