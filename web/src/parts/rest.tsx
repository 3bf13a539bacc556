import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useState } from "preact/hooks";
import { painted } from "../painted";

/**
 * What lies below the edge of a screen: drawn after the screen's first frame, a piece a frame, so that the
 * tap that opens the screen is answered at once and the next one finds the page free. Until all is drawn
 * the page says that it is busy, to those who listen and to the tests.
 */
export function Rest({ children }: { children: ComponentChildren }) {
  const pieces = Array.isArray(children) ? children : [children];
  const [drawn, draw] = useState(0);
  const all = drawn >= pieces.length;
  useLayoutEffect(() => {
    const main = document.getElementById("main");
    if (all) main?.removeAttribute("aria-busy");
    else main?.setAttribute("aria-busy", "true");
  }, [all]);
  useEffect(() => {
    if (all) return;
    let left = false;
    void painted().then(() => left || draw(drawn + 1));
    return () => {
      left = true;
    };
  }, [drawn, all]);
  return <>{pieces.slice(0, drawn)}</>;
}
