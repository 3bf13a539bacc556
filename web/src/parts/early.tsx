/** Why something is not due yet, above the press that does it all the same. */
export function Early({ why }: { why: readonly string[] }) {
  if (why.length === 0) return null;
  return (
    <div class="early">
      {why.map((one) => (
        <p key={one}>{one}</p>
      ))}
    </div>
  );
}
