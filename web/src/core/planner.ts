import type { Plan } from "../generated/shapes";
import type { Wire } from "../log/wire";

/** Whoever may be asked for a plan: the service. The phone's own come from `fold.ts`, unasked. */
export interface Planner {
  /** A plan for now, or null if it can't be had at present. */
  plan(): Promise<Plan | null>;
}

export function servicePlanner(wire: Wire): Planner {
  return {
    async plan() {
      const reply = await wire.plan();
      return reply.type === "answer" ? reply.body : null;
    },
  };
}
