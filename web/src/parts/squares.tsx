/** A link as a code for another phone's camera: rows of 1 (dark) and 0, as the service gives them. */
export function Squares({ rows, label }: { rows: readonly string[]; label: string }) {
  const edge = 4;
  const size = rows.length + 2 * edge;
  const dark = rows.flatMap((row, y) =>
    [...row].flatMap((one, x) => (one === "1" ? [`M${x + edge} ${y + edge}h1v1h-1z`] : [])),
  );
  return (
    <svg class="squares" viewBox={`0 0 ${size} ${size}`} role="img" aria-label={label}>
      <rect width={size} height={size} fill="#fff" />
      <path d={dark.join("")} fill="#000" />
    </svg>
  );
}
