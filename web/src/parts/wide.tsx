import type { ComponentChildren } from "preact";

/** A table wider than the screen: it is moved sideways by a finger, or by the arrow keys once it has the focus. */
export function Wide({ called, children }: { called: string; children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reached by the keyboard (WCAG 2.1.1)
    <section class="wide" aria-label={called} tabIndex={0}>
      {children}
    </section>
  );
}
