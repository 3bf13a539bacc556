import type { Plan } from "../generated/shapes";
import type { Wire } from "../log/wire";

/** Where plans come from. Today the service; a worker that folds the log on the phone fits the same face. */
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
