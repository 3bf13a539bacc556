import { useEffect, useState } from "preact/hooks";
import { useHere } from "../../here";
import { Part } from "../../parts/screen";
import { type PushState, pushState, turnOff, turnOn } from "../../push";
import { languageFor } from "../../words/language";
import { t } from "../../words/words";

/** Messages to this phone: off until somebody turns them on. */
export function PushPart() {
  const { journal } = useHere();
  const [state, put] = useState<PushState | null>(null);
  const [trouble, tell] = useState("");
  const look = () => void pushState().then(put, () => put("unsupported"));
  useEffect(look, []);
  const on = async () => {
    tell("");
    try {
      const language = languageFor(journal.kept.value["language"], navigator.languages);
      const reply = await turnOn(journal.kept.value["person"], language);
      if (reply.type === "refused") tell(reply.detail);
      if (reply.type === "unreachable") tell(t("app.remind.no_service"));
    } catch {
      tell(t("app.push.failed"));
    }
    look();
  };
  const off = async () => {
    await turnOff().catch(() => tell(t("app.push.failed")));
    look();
  };
  if (state === null) return null;
  return (
    <Part title={t("app.push.title")}>
      <p>{t(`app.push.${state}`)}</p>
      {state === "off" && (
        <button type="button" class="pick" onClick={() => void on()}>
          {t("app.push.turn_on")}
        </button>
      )}
      {state === "on" && (
        <button type="button" class="pick" onClick={() => void off()}>
          {t("app.push.turn_off")}
        </button>
      )}
      {trouble && (
        <p class="finding" role="alert">
          {trouble}
        </p>
      )}
    </Part>
  );
}
