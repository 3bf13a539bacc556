import type { ReadonlySignal } from "@preact/signals";
import { effect } from "@preact/signals";
import type { Reminders } from "./log/reminders";

type Badged = {
  setAppBadge?(count: number): Promise<void>;
  clearAppBadge?(): Promise<void>;
};

/** Show on the app's own icon how many matters ask for somebody now, where the phone has such a thing. */
export function startBadge(reminders: ReadonlySignal<Reminders>, on: Badged = navigator as Badged): void {
  let shown = -1;
  effect(() => {
    const count = reminders.value.now.length;
    if (count === shown) return;
    shown = count;
    const done = count > 0 ? on.setAppBadge?.(count) : on.clearAppBadge?.();
    // Not allowed, or not installed: the list says the same.
    void done?.catch(() => undefined);
  });
}
