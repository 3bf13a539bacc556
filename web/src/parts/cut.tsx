import { useHere } from "../here";
import type { Station } from "../log/holding";
import { sideName } from "../words/planned";
import { t } from "../words/words";

/** A station cut through, drawn large: for a bed, which side is being fed and which one rests. */
export function Cut({ station }: { station: Station }) {
  if (station.type === "bed") return <BedCut station={station} />;
  return null;
}

function BedCut({ station }: { station: Station }) {
  const { holding } = useHere();
  const feeding = holding.feedingSide(station.id);
  return (
    <figure class="cut">
      <svg viewBox="0 0 340 92" aria-hidden="true">
        <path class="cut-ground" d="M0 84C60 80 100 87 170 84s120-3 170 0" />
        <Trough x={10} fed={feeding === "a"} />
        <Trough x={172} fed={feeding === "b"} />
      </svg>
      <figcaption>
        {["a", "b"].map((side) => (
          <span key={side} class={side === feeding ? "fed" : ""}>
            <strong>{sideName(station, side)}</strong>
            <small>{t(side === feeding ? "app.side.feeding" : "app.side.resting")}</small>
          </span>
        ))}
      </figcaption>
    </figure>
  );
}

/** Earth in layers; on the side that is fed scraps lie on top and worms come up to them. */
function Trough({ x, fed }: { x: number; fed: boolean }) {
  return (
    <g transform={`translate(${x} 0)`}>
      <path class={fed ? "cut-earth cut-fed" : "cut-earth"} d="M6 30C40 25 110 33 152 28L144 84H14Z" />
      <path class="cut-layer" d="M10 50c36-5 100 4 138-1M12 66c40-4 92 3 134-1" />
      <path class="cut-wall" d="M2 18 14 84h130L156 18" />
      {fed && (
        <>
          <path class="cut-scrap" d="M24 24l9-7 8 6M52 25c2-9 15-9 17 0M82 23l6-9 9 8M112 26c1-8 13-8 15-1" />
          <path class="cut-worm" d="M36 44c5-6 9 5 14-1s9 3 12-2M92 58c5-6 9 5 14-1s8 4 11-1M60 74c5-5 9 4 13-1" />
        </>
      )}
      {!fed && <path class="cut-worm" d="M70 75c5-5 9 4 13-1" />}
    </g>
  );
}
