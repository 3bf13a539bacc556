import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { t } from "../words/words";

/**
 * A screen's own heading. It takes the focus when the screen opens, whether at once or when its file has come, so
 * that a reader starts there; and the page is called what it says.
 */
export function Head({ title, children }: { title: string; children?: ComponentChildren }) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus({ preventScroll: true }), []);
  const named = t("app.title.of", { screen: title });
  useEffect(() => {
    document.title = named;
  }, [named]);
  return (
    <div class="head">
      <h1 ref={heading} tabIndex={-1}>
        {title}
      </h1>
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
