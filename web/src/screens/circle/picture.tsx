import type { Circle, CircleArrow, CircleNode } from "../../generated/shapes";
import { GLYPHS } from "../../parts/glyphs";
import { mass, t } from "../../words/words";
import { type Drawn, drawn, HIGH, type Measure, PLACES, WIDE } from "./layout";

/** The circle drawn: stones in a ring, what moves between them as strokes as wide as it is much. */
export function Picture({
  circle,
  measure,
  chosen,
  onChoose,
}: {
  circle: Circle;
  measure: Measure;
  chosen: CircleArrow | null;
  onChoose(arrow: CircleArrow): void;
}) {
  const arrows = drawn(circle.arrows, measure);
  return (
    <figure class="circle">
      <svg viewBox={`0 0 ${WIDE} ${HIGH}`} aria-hidden="true">
        {arrows.map((one) => (
          <Arrow
            key={`${one.arrow.source} ${one.arrow.target}`}
            one={one}
            chosen={one.arrow === chosen}
            onChoose={onChoose}
          />
        ))}
        {circle.nodes.map((node) => (
          <Stone key={node.node} node={node} measure={measure} />
        ))}
      </svg>
      <figcaption class="heard">{t("app.circle.picture")}</figcaption>
    </figure>
  );
}

function Arrow({
  one,
  chosen,
  onChoose,
}: {
  one: Drawn;
  chosen: boolean;
  onChoose(arrow: CircleArrow): void;
}) {
  const { source, target } = one.arrow;
  const sort = target === "air" ? "air" : source === "brought" || target === "elsewhere" ? "outer" : "inner";
  return (
    // The list below opens the same by keyboard and by ear.
    // biome-ignore lint/a11y/noStaticElementInteractions: see above
    <g class={`flow flow-${sort} ${chosen ? "flow-chosen" : ""}`} onClick={() => onChoose(one.arrow)}>
      <path class="flow-press" d={one.path} />
      <path class="flow-line" d={one.path} stroke-width={one.width} />
      <path class="flow-head" d={one.head} />
    </g>
  );
}

const PEBBLE = "M-26-3C-25-19-12-28 3-27 18-26 28-14 27 2 26 18 14 28-2 27-18 26-27 14-26-3Z";

function Stone({ node, measure }: { node: CircleNode; measure: Measure }) {
  const place = PLACES[node.node];
  if (place === undefined) return null;
  const after = node.after === null ? null : (node.after[measure] ?? null);
  return (
    <g transform={`translate(${place[0]} ${place[1]})`} class={`knot knot-${node.node}`}>
      <path class="knot-stone" d={PEBBLE} />
      <path class="knot-glyph" transform="translate(-13 -14) scale(.81)" d={GLYPHS[node.node] ?? ""} />
      <text y="41">{t(`app.circle.node.${node.node}`)}</text>
      {after !== null && Math.abs(after) > 0 && (
        <text y="41" dy="1.1em" class="knot-stored">
          {mass(after)}
        </text>
      )}
    </g>
  );
}
