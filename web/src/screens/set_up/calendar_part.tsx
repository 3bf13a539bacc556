import { useState } from "preact/hooks";
import { said, useHere } from "../../here";
import { post } from "../../log/http";
import { Part } from "../../parts/screen";
import { Squares } from "../../parts/squares";
import { LANGUAGES, languageFor } from "../../words/language";
import { t } from "../../words/words";

type Made = { readonly person: string; readonly address: string; readonly squares: readonly string[] };

/** The address of this person's calendar: made once, shown on this phone, and ended at a press. */
export function CalendarPart() {
  const { journal } = useHere();
  const [trouble, tell] = useState("");
  const person = journal.kept.value["person"];
  const made = (journal.kept.value["calendar"] as Made | null | undefined) ?? null;
  const wanted = typeof person === "string" ? { person } : {};

  const make = async () => {
    const reply = await post<Made>("/api/calendars", wanted);
    tell(reply.type === "answer" ? "" : reply.type === "refused" ? reply.detail : t("app.remind.no_service"));
    if (reply.type === "answer") await journal.keep("calendar", reply.body);
  };
  const end = async () => {
    const reply = await post<unknown>("/api/calendars/end", wanted);
    const gone = reply.type === "answer" || (reply.type === "refused" && reply.status === 404);
    tell(gone ? "" : reply.type === "refused" ? reply.detail : t("app.remind.no_service"));
    if (!gone) return;
    await journal.keep("calendar", null);
    said.value = { key: "app.calendar.ended" };
  };

  return (
    <Part title={t("app.calendar.title")}>
      <p>{t("app.calendar.about")}</p>
      <p class="soft">{t("app.calendar.reach")}</p>
      {made && made.person === person ? (
        <Address made={made} />
      ) : (
        <button type="button" class="main" disabled={person === undefined} onClick={() => void make()}>
          {t("app.calendar.make")}
        </button>
      )}
      {trouble && (
        <p class="finding" role="alert">
          {trouble}
        </p>
      )}
      {made && made.person === person && (
        <div class="buttons">
          <button type="button" class="pick" onClick={() => void make()}>
            {t("app.calendar.anew")}
          </button>
          <button type="button" class="pick" onClick={() => void end()}>
            {t("app.calendar.end")}
          </button>
        </div>
      )}
    </Part>
  );
}

function Address({ made }: { made: Made }) {
  const { journal } = useHere();
  const language = languageFor(journal.kept.value["language"], navigator.languages);
  const address =
    language in LANGUAGES && language !== "en" ? `${made.address}?language=${language}` : made.address;
  const copy = async () => {
    await navigator.clipboard?.writeText(address);
    said.value = { key: "app.calendar.copied" };
  };
  return (
    <>
      <p class="address">{address}</p>
      <div class="buttons">
        <a class="pick" href={address.replace(/^https?:/, "webcal:")}>
          {t("app.calendar.open")}
        </a>
        <button type="button" class="pick" onClick={() => void copy()}>
          {t("app.calendar.copy")}
        </button>
      </div>
      <details class="more">
        <summary>{t("app.calendar.code")}</summary>
        <Squares rows={made.squares} label={t("app.calendar.code")} />
      </details>
      <p class="soft">{t("app.calendar.secret")}</p>
    </>
  );
}
