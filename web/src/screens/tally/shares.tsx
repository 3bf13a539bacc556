import { Part } from "../../parts/screen";
import { mass } from "../../words/words";

/** Parts of a sum, the largest first, each with a bar of its length. */
export function Shares({ title, rows }: { title: string; rows: readonly (readonly [string, number])[] }) {
  const sorted = [...rows].sort(([, one], [, other]) => other - one);
  const most = sorted[0]?.[1] ?? 1;
  if (sorted.length === 0) return null;
  return (
    <Part title={title}>
      <dl class="shares">
        {sorted.map(([name, kg]) => (
          <div key={name} style={`--share: ${(kg / most) * 100}%`}>
            <dt>{name}</dt>
            <dd>{mass(kg)}</dd>
          </div>
        ))}
      </dl>
    </Part>
  );
}
