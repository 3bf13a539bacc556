import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { t } from "../words/words";

/**
 * A screen's own heading. It takes the focus when the screen opens, whether at once or when its file has come, so
 * that a reader starts there; and the page is called what it says.
 */
export function Head({
  title,
  children,
  abreast = false,
}: {
  title: string;
  children?: ComponentChildren;
  /** What belongs to the title stands beside it, where there is room. */
  abreast?: boolean;
}) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus({ preventScroll: true }), []);
  const named = t("app.title.of", { screen: title });
  useEffect(() => {
    document.title = named;
  }, [named]);
  return (
    <div class={abreast ? "head abreast" : "head"}>
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
      <h2 {...(id ? { tabIndex: -1 } : {})}>{title}</h2>
      {children}
    </section>
  );
}
