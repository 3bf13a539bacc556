import { useEffect, useState } from "preact/hooks";
import { useHere } from "../../here";
import { Choice } from "../../parts/choice";
import { THEMES, themeOf } from "../../theme";
import { number, t } from "../../words/words";
import { PhotosRefused } from "./photos_refused";

/** The app itself: its light, what it keeps on the phone, its version, and whose place this is. */
export function AboutPart() {
  const { journal, holding, updates } = useHere();
  const [room, tell] = useState<Room | null>(null);
  useEffect(() => void roomHere().then(tell), []);
  return (
    <>
      <Choice
        legend={t("app.about.light")}
        chosen={[themeOf(journal)]}
        onChoose={(one) => void journal.keep("theme", one)}
        choices={THEMES.map((one) => ({ value: one, words: t(`app.about.light.${one}`) }))}
      />
      {room !== null && (
        <>
          <Kept room={room} changed={tell} />
          <p>
            {t("app.about.version", {
              app: __APP_VERSION__,
              models: holding.plan.value?.made_from.models ?? "–",
            })}
          </p>
          <p class="soft">{t("app.about.device", { device: journal.device })}</p>
          <button type="button" class="pick" onClick={() => void updates.look()}>
            {t("app.about.look")}
          </button>
          {holding.invented.value && <p class="notice">{t("app.invented_long")}</p>}
          <p class="soft">{t("app.about.text")}</p>
        </>
      )}
    </>
  );
}

/** What the app takes on the phone, and whether the browser may clear it. It is told first, and all below with it. */
type Room = { readonly used: number; readonly safe: boolean };

async function roomHere(): Promise<Room> {
  const asked = Promise.all([navigator.storage?.estimate(), navigator.storage?.persisted()]);
  const [size, safe] = await asked.catch(() => []);
  return { used: (size?.usage ?? 0) / 1e6, safe: safe === true };
}

function Kept({ room, changed }: { room: Room; changed(room: Room): void }) {
  const { journal, photos } = useHere();
  const [taken, tellTaken] = useState({ bytes: 0, waiting: 0 });
  useEffect(() => void photos.size().then(tellTaken), []);
  const ask = async () => {
    const safe = await navigator.storage?.persist();
    changed({ ...room, safe: safe === true });
  };
  return (
    <section class="part">
      <h2>{t("app.about.kept")}</h2>
      <p>{t("app.about.entries", { count: journal.entries.value.length })}</p>
      <p>{t("app.about.used", { mb: number(room.used) })}</p>
      {taken.bytes > 0 && (
        <p>
          {t("app.about.photos", { mb: number(Math.ceil(taken.bytes / 1e5) / 10), waiting: taken.waiting })}
        </p>
      )}
      <PhotosRefused />
      <p class="soft">{t(room.safe ? "app.about.safe" : "app.about.not_safe")}</p>
      {!room.safe && (
        <button type="button" class="pick" onClick={() => void ask()}>
          {t("app.about.make_safe")}
        </button>
      )}
    </section>
  );
}
