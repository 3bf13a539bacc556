import { useState } from "preact/hooks";
import { door, type Invitation } from "../../access/door";
import { said, useHere } from "../../here";
import { Choice } from "../../parts/choice";
import { Part } from "../../parts/screen";
import { Squares } from "../../parts/squares";
import { to } from "../../route";
import { instant, t, today } from "../../words/words";

/** A host lets one more phone in: choose whose it is, show the code to its camera. */
export function Invite() {
  const { holding } = useHere();
  const [whose, choose] = useState("");
  const [made, show] = useState<Invitation | null>(null);
  const here = holding.people.value.filter((one) => one.lastDay === "" || one.lastDay >= today());
  const invite = async (person: string) => {
    choose(person);
    const reply = await door.invite(person);
    show(reply.type === "answer" ? reply.body : null);
    if (reply.type === "unreachable") said.value = { key: "access.no_signal" };
    if (reply.type === "refused") said.value = { key: "access.trouble.unknown_person" };
  };
  return (
    <Part title={t("access.invite.title")}>
      <Choice
        legend={t("access.invite.whose")}
        chosen={[whose]}
        onChoose={(person) => void invite(person)}
        choices={here.map((one) => ({
          value: one.id,
          words: one.name,
          under: t(one.role === "host" ? "app.role.host" : "app.role.helper"),
        }))}
      />
      <p>
        <a href={to("place", "people")}>{t("access.invite.new")}</a>
      </p>
      {made && (
        <section class="invitation" aria-live="polite">
          {made.trust_address && (
            <>
              <p class="notice">{t("access.invite.trust", { address: made.trust_address })}</p>
              <details class="more">
                <summary>{t("app.calendar.code")}</summary>
                <Squares rows={made.trust_squares} label={made.trust_address} />
              </details>
            </>
          )}
          <p>{t("access.invite.show", { until: instant(made.until) })}</p>
          <Squares rows={made.squares} label={t("access.invite.squares")} />
          <p>{t("access.invite.type")}</p>
          <p class="code">{made.code}</p>
          {typeof navigator.share === "function" && (
            <button
              type="button"
              class="pick"
              onClick={() => void navigator.share({ url: made.link }).catch(() => undefined)}
            >
              {t("access.invite.send")}
            </button>
          )}
        </section>
      )}
    </Part>
  );
}
