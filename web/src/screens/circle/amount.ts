import { measure } from "../../words/words";

/** A mass as people say it: small ones in grams. */
export const amountWords = (kg: number): string =>
  Math.abs(kg) < 1 ? measure(kg * 1000, "g") : measure(kg, "kg");
