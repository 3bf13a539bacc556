import { expect, test } from "vitest";
import "../testing/words";
import { skewWords } from "./skew";

test("how far a clock is off is said in the largest unit of which it is at least two", () => {
  const said = [150, -7_100, -10_800, 172_800].map((one) => skewWords("app.sync.skew", one).split(":")[0]);
  expect(said).toEqual([
    "This phone’s clock is 3 minutes slow",
    "This phone’s clock is 118 minutes fast",
    "This phone’s clock is 3 hours fast",
    "This phone’s clock is 2 days slow",
  ]);
});
