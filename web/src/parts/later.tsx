import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";
import { t } from "../words/words";

/**
 * A screen that is not part of the first page: fetched when somebody goes there, from the phone itself
 * once the app is kept on it.
 *
 * @param load fetches it; the page's own loader keeps what was fetched once
 */
export function later<Props extends object>(load: () => Promise<ComponentType<Props>>) {
  let there: ComponentType<Props> | null = null;
  return function Later(props: Props) {
    const [found, find] = useState<{ screen: ComponentType<Props> | null; missing: boolean }>({
      screen: there,
      missing: false,
    });
    useEffect(() => {
      if (found.screen !== null) return;
      load().then(
        (screen) => {
          there = screen;
          find({ screen, missing: false });
        },
        () => find({ screen: null, missing: true }),
      );
    }, []);
    if (found.screen !== null) return <found.screen {...props} />;
    return found.missing ? <p class="finding">{t("app.later.missing")}</p> : null;
  };
}
