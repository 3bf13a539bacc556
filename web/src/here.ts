import { signal } from "@preact/signals";
import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { Fold } from "./core/fold";
import type { Holding } from "./log/holding";
import type { Journal } from "./log/journal";
import type { Photos } from "./log/photos";
import type { Updates } from "./updates";

/** What every screen stands on: the log, the place read from it, the app's own updates, and the fold. */
export type Here = {
  readonly journal: Journal;
  readonly holding: Holding;
  readonly photos: Photos;
  readonly updates: Updates;
  readonly fold: Fold;
};

export const HereContext = createContext<Here | null>(null);

export function useHere(): Here {
  const here = useContext(HereContext);
  if (here === null) throw new Error("a screen was drawn outside the app");
  return here;
}

/** Something typed that isn't saved yet; while it is so, nothing reloads the page. */
export const unsaved = signal(false);

/** What was just done, said in words, with a way back where there is one. */
export type Said = {
  /** Which record is meant, where another may stand on the screen by now. */
  readonly of?: string;
  readonly key: string;
  readonly values?: Readonly<Record<string, unknown>>;
  readonly undo?: () => Promise<unknown>;
};
export const said = signal<Said | null>(null);
