import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";
import { pause } from "../pause";
import { t } from "../words/words";

const all: (() => Promise<unknown>)[] = [];

/**
 * A screen that is not part of the first page: fetched when the app is at rest, or when somebody goes
 * there before that.
 *
 * @param load fetches it; the page's own loader keeps what was fetched once
 */
export function later<Props extends object>(load: () => Promise<ComponentType<Props>>) {
  let there: ComponentType<Props> | null = null;
  const fetch = async () => {
    there = await load();
    return there;
  };
  all.push(fetch);
  return function Later(props: Props) {
    const [found, find] = useState<{ screen: ComponentType<Props> | null; missing: boolean }>({
      screen: there,
      missing: false,
    });
    useEffect(() => {
      if (found.screen !== null) return;
      fetch().then(
        (screen) => find({ screen, missing: false }),
        () => find({ screen: null, missing: true }),
      );
    }, []);
    if (found.screen !== null) return <found.screen {...props} />;
    return found.missing ? <p class="finding">{t("app.later.missing")}</p> : null;
  };
}

/** Fetch all of them, so that none is missed where the signal ends; one after another, none in a touch's way. */
export async function fetchLater(): Promise<void> {
  for (const fetch of all) {
    await fetch().catch(() => undefined);
    await pause();
  }
}
