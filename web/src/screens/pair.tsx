import { signal } from "@preact/signals";
import { useEffect, useState } from "preact/hooks";
import { door } from "../access/door";
import { become, me } from "../access/me";
import { said, useHere } from "../here";
import type { Reply } from "../log/wire";
import { Head } from "../parts/screen";
import { go, leave } from "../route";
import { has, t } from "../words/words";

/** The code as it stands in the field; a link puts it there, and leaves the address. */
const code = signal("");

/** Pair this phone by a host's link, or by its code typed in. What was recorded before stays and is sent. */
export function PairScreen({ linked = "" }: { linked?: string }) {
  const { journal, holding } = useHere();
  const [busy, work] = useState(false);
  const [trouble, tell] = useState("");
  useEffect(() => {
    if (linked === "") return;
    code.value = linked;
    go(["pair"], true);
  }, [linked]);
  const who = me(journal);
  const pair = async () => {
    work(true);
    const reply = await door.pair(code.value, journal.device);
    work(false);
    if (reply.type !== "answer") return tell(troubleOf(reply));
    code.value = "";
    await become(journal, reply.body);
    said.value = { key: "access.paired" };
    journal.nudge("hand");
    leave(["round"]);
  };
  return (
    <form
      class="record"
      onSubmit={(event) => {
        event.preventDefault();
        if (code.value.trim() !== "" && !busy) void pair();
      }}
    >
      <Head title={t("access.pair.title")}>
        <p class="lead">{t(code.value ? "access.pair.press" : "access.pair.about")}</p>
      </Head>
      {who !== null && !who.open && (
        <p class="notice">
          {t("access.pair.again", {
            whose: holding.people.value.find((one) => one.id === who.person)?.name ?? t("access.a_host"),
          })}
        </p>
      )}
      <label class="typed">
        <span>{t("access.pair.code")}</span>
        <input
          type="text"
          autocomplete="one-time-code"
          autocapitalize="characters"
          spellcheck={false}
          maxLength={32}
          value={code.value}
          onInput={(event) => {
            code.value = event.currentTarget.value;
          }}
        />
      </label>
      {trouble && (
        <p class="finding" role="alert">
          {trouble}
        </p>
      )}
      {journal.unsent.value.length > 0 && (
        <p class="soft">{t("access.pair.unsent", { unsent: journal.unsent.value.length })}</p>
      )}
      <div class="end">
        <button type="submit" class="main" disabled={busy || code.value.trim() === ""}>
          {t("access.pair")}
        </button>
      </div>
    </form>
  );
}

function troubleOf(reply: Exclude<Reply<unknown>, { type: "answer" }>): string {
  if (reply.type === "unreachable") return t("access.no_signal");
  const known = `access.trouble.${reply.code}`;
  return has(known) ? t(known) : reply.detail;
}
