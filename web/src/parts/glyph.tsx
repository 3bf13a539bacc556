import { GLYPHS } from "./glyphs";

/** A drawing; the words beside it say the same, so a screen reader passes it by. */
export function Glyph({ name, size = 28 }: { name: string; size?: number }) {
  return (
    <svg
      class="glyph"
      viewBox="0 0 32 32"
      width={size}
      height={size}
      fill="none"
      stroke="currentColor"
      stroke-width="2.1"
      stroke-linecap="round"
      stroke-linejoin="round"
      aria-hidden="true"
    >
      <path d={GLYPHS[name] ?? GLYPHS["notice"]} />
    </svg>
  );
}
