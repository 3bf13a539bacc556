import type { Plan } from "../generated/shapes";

/** What a plan was asked on: it decides which of two plans is shown. */
export type Basis = {
  readonly by: "service" | "phone";
  /** Rises with every question on this phone. */
  readonly order: number;
  /** Entries made here that it knows: the rows up to this one. */
  readonly upTo: number;
  /** Entries the phone had, sent or not, when it was asked. */
  readonly knows: number;
};

/** The last plan the phone has, and when it came. */
export type KeptPlan = Basis & { readonly plan: Plan; readonly gotAt: string };

/**
 * Whether a plan takes the place of the one on the screen: it knows more of what was recorded here, or as
 * much and was asked for later. What a person has just done is never taken out of their sight again.
 */
export function replaces(made: Basis, there: Partial<Basis> | null): boolean {
  if (there === null) return true;
  const { upTo = 0, order = 0 } = there;
  return made.upTo > upTo || (made.upTo === upTo && made.order > order);
}
