import { Glyph } from "./glyph";

/** A station as a stone on the way: bare until somebody has been there, filled and ticked after. */
export function StationStone({ type, passed = false }: { type: string; passed?: boolean }) {
  return (
    <span class={`stone stone-${type} ${passed ? "stone-passed" : ""}`} aria-hidden="true">
      <Glyph name={passed ? "tick" : type} size={46} />
    </span>
  );
}
