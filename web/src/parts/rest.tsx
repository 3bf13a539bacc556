import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useState } from "preact/hooks";
import { painted } from "../painted";

/** So many parts of the screen are being drawn piece by piece. */
let drawing = 0;

function count(change: 1 | -1): void {
  drawing += change;
  const main = document.getElementById("main");
  if (drawing > 0) main?.setAttribute("aria-busy", "true");
  else main?.removeAttribute("aria-busy");
}

/**
 * How many of so many pieces are to be drawn by now: none in a screen's first frame, then one more a frame, so
 * that the tap that opens the screen is answered at once and the next one finds the page free. Until all are
 * drawn the page says that it is busy, to those who listen and to the tests.
 */
export function useDrawn(pieces: number): number {
  const [drawn, draw] = useState(0);
  const all = drawn >= pieces;
  useLayoutEffect(() => {
    if (all) return;
    count(1);
    return () => count(-1);
  }, [all]);
  useEffect(() => {
    if (all) return;
    let left = false;
    void painted().then(() => left || draw(drawn + 1));
    return () => {
      left = true;
    };
  }, [drawn, all]);
  return drawn;
}

/** What lies below the edge of a screen, or is folded away: drawn after the screen's first frame. */
export function Rest({ children }: { children: ComponentChildren }) {
  const pieces = Array.isArray(children) ? children : [children];
  return <>{pieces.slice(0, useDrawn(pieces.length))}</>;
}
