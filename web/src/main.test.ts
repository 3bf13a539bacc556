import { expect, test } from "vitest";

test("the page shows the name of the app", async () => {
  document.body.innerHTML = '<main id="app"></main>';
  await import("./main");
  expect(document.querySelector("h1")?.textContent).toBe("Fallowside");
});
