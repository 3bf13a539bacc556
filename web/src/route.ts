import { computed, signal } from "@preact/signals";

/** Where the person is, as the part after `#`: `#/station/bed/record/feed` is a link like any other. */
const read = (): string[] => {
  const parts = location.hash.replace(/^#\/?/, "").split("/").filter(Boolean);
  return parts.map((part) => {
    try {
      return decodeURIComponent(part);
    } catch {
      return part;
    }
  });
};

const path = signal<readonly string[]>(read());
addEventListener("hashchange", () => {
  path.value = read();
});

export const route = computed(() => path.value);

/** The link to a screen. */
export const to = (...parts: readonly string[]): string => `#/${parts.map(encodeURIComponent).join("/")}`;

/** Go to a screen; `instead` leaves no way back to where one was (a form that was saved). */
export function go(parts: readonly string[], instead = false): void {
  if (instead) {
    history.replaceState(null, "", to(...parts));
    path.value = read();
  } else {
    location.hash = to(...parts);
  }
}

let walked = 0;
/** The way back takes a moment, and would undo a link pressed in it: that is gone to after it. */
const BACK_MS = 1000;
let leftAt = -BACK_MS;
let pressed = "";
const leaving = () => performance.now() - leftAt < BACK_MS;
addEventListener(
  "click",
  ({ target }) => {
    const link = target instanceof Element ? target.closest("a[href^='#']") : null;
    if (link !== null && leaving()) pressed = link.getAttribute("href") ?? "";
  },
  true,
);
addEventListener("hashchange", () => {
  walked += 1;
  if (location.hash === pressed) return;
  const next = leaving() ? pressed : "";
  leftAt = -BACK_MS;
  pressed = "";
  if (next !== "") location.hash = next;
});

/**
 * Go back where one came from; opened by a link from outside, to the screen named instead.
 *
 * @param from where it was asked for: whoever has gone on meanwhile stays where they are
 */
export function leave(otherwise: readonly string[], from = location.hash): void {
  if (location.hash !== from) return;
  if (walked > 0) {
    leftAt = performance.now();
    history.back();
  } else go(otherwise, true);
}
