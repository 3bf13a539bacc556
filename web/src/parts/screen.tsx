import type { ComponentChildren } from "preact";

/** A screen's own heading; it takes the focus when the screen opens, so that a reader starts there. */
export function Head({ title, children }: { title: string; children?: ComponentChildren }) {
  return (
    <div class="head">
      <h1 tabIndex={-1}>{title}</h1>
      {children}
    </div>
  );
}

export function Part({ title, children, id }: { title: string; children: ComponentChildren; id?: string }) {
  return (
    <section class="part" {...(id ? { id } : {})}>
      <h2>{title}</h2>
      {children}
    </section>
  );
}
