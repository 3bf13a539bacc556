import { expect, test, vi } from "vitest";
import { openUpdates } from "./updates";

/** A browser's service workers with a new one that waits. */
async function waitingOne(state: string) {
  const fresh = { state, postMessage: vi.fn() };
  const workers = Object.assign(new EventTarget(), {
    controller: {},
    register: async () => Object.assign(new EventTarget(), { waiting: fresh }),
  });
  const reload = vi.fn();
  const updates = openUpdates(workers as unknown as ServiceWorkerContainer, reload);
  await updates.register("/sw.js");
  return { fresh, workers, reload, updates };
}

test("a new version is taken by a press, and the page loads anew once it has taken over", async () => {
  const { fresh, workers, reload, updates } = await waitingOne("installed");
  workers.dispatchEvent(new Event("controllerchange"));
  expect(reload).not.toHaveBeenCalled();
  updates.take();
  expect(fresh.postMessage).toHaveBeenCalledWith({ type: "take-over" });
  workers.dispatchEvent(new Event("controllerchange"));
  expect(reload).toHaveBeenCalledTimes(1);
});

test("a press on a page whose other page has taken the new version loads it anew", async () => {
  const { reload, updates } = await waitingOne("activated");
  updates.take();
  expect(reload).toHaveBeenCalledTimes(1);
});
