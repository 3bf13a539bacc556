import { useHere } from "../here";
import type { Station } from "../log/holding";
import { sideName } from "../words/planned";
import { say } from "../words/words";
import { earthPath, layerPath, type SideCut, sideCuts, WORMS } from "./cut_shape";

/** A bed cut through: how full each side is, where the worms are, and which side is being fed. */
export function Cut({ station }: { station: Station }) {
  const { holding } = useHere();
  if (station.type !== "bed") return null;
  const feeding = holding.feedingSide(station.id);
  const sides = sideCuts(station, feeding);
  return (
    <figure class="cut">
      <svg viewBox="0 0 340 96" aria-hidden="true">
        <path class="cut-ground" d="M0 88C60 84 100 91 170 88s120-3 170 0" />
        {sides.map((side, index) => (
          <Trough key={side.side} x={10 + index * 162} cut={side} />
        ))}
      </svg>
      <figcaption>
        {sides.map(({ side, fed, phase }) => (
          <span key={side} class={fed ? "fed" : ""}>
            <strong>{sideName(station, side)}</strong>
            <small>{say([`app.side.${phase}`, fed ? "app.side.feeding" : "app.side.resting"])}</small>
          </span>
        ))}
      </figcaption>
    </figure>
  );
}

function Trough({ x, cut }: { x: number; cut: SideCut }) {
  return (
    <g transform={`translate(${x} 0)`}>
      {cut.full > 0 && (
        <>
          <path class={cut.fed ? "cut-earth cut-fed" : "cut-earth"} d={earthPath(cut.full)} />
          <path class="cut-layer" d={layerPath(cut.full)} />
        </>
      )}
      {WORMS.slice(0, cut.worms).map((worm) => (
        <path key={worm} class="cut-worm" d={worm} />
      ))}
      <path class="cut-wall" d="M2 18 14 88h130L156 18" />
      {cut.fed && cut.full > 0 && (
        <path
          class="cut-scrap"
          transform={`translate(0 ${cut.top - 28})`}
          d="M24 22l9-7 8 6M52 23c2-9 15-9 17 0M82 21l6-9 9 8M112 24c1-8 13-8 15-1"
        />
      )}
    </g>
  );
}
