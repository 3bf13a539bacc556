import { useEffect, useState } from "preact/hooks";
import { type Alarm, door, type PhoneLine, type Phones } from "../../access/door";
import { learnWho, me } from "../../access/me";
import { said, useHere } from "../../here";
import { Part } from "../../parts/screen";
import { to } from "../../route";
import { skewWords } from "../../words/skew";
import { ago, day, instant, t } from "../../words/words";
import { Invite } from "./invite";
import { WaitingForHost } from "./waiting_for_host";

/** The phones that are let in: for a host all of them, for a helper their own. */
export function PhonesPart() {
  const { journal } = useHere();
  const [list, show] = useState<Phones | null>(null);
  const [near, tell] = useState(true);
  const look = async () => {
    void learnWho(journal);
    const reply = await door.phones();
    tell(reply.type !== "unreachable");
    show(reply.type === "answer" ? reply.body : null);
  };
  useEffect(() => void look(), []);
  return (
    <>
      <Mine />
      {!near && <p class="notice">{t("access.no_signal")}</p>}
      {list && (
        <>
          {list.alarms.map((one) => (
            <AlarmLine key={one.last_at} one={one} />
          ))}
          {list.alarms.length > 0 && (
            <button type="button" class="pick" onClick={() => void door.alarmsSeen().then(look)}>
              {t("access.alarm.seen")}
            </button>
          )}
          <WaitingForHost />
          <Invite />
          <Part title={t("access.phones.title", { count: list.phones.length })}>
            <ul class="plain-list held">
              {list.phones.map((one) => (
                <Line key={one.n} one={one} ended={look} />
              ))}
            </ul>
          </Part>
        </>
      )}
    </>
  );
}

/** Whom this phone is paired for, and the way out of it. */
function Mine() {
  const { journal, holding } = useHere();
  const who = me(journal);
  if (who === null) {
    return (
      <p>
        {t("access.mine.nobody")} <a href={to("pair")}>{t("access.pair")}</a>
      </p>
    );
  }
  if (who.open) return <p>{t("access.mine.open")}</p>;
  const name = holding.people.value.find((one) => one.id === who.person)?.name ?? t("access.a_host");
  const out = async () => {
    const reply = await door.leave();
    if (reply.type === "unreachable") {
      said.value = { key: "access.no_signal" };
      return;
    }
    await journal.keep("me", undefined);
    journal.nudge("hand");
  };
  return (
    <>
      <p>
        {who.last_day
          ? t("access.mine.until", { name, day: day(who.last_day) })
          : t("access.mine.paired", { name })}
      </p>
      <details class="more">
        <summary>{t("access.leave.title")}</summary>
        <p>{t("access.leave.about", { unsent: journal.unsent.value.length })}</p>
        <button type="button" class="pick" onClick={() => void out()}>
          {t("access.leave")}
        </button>
      </details>
    </>
  );
}

function Line({ one, ended }: { one: PhoneLine; ended(): Promise<void> }) {
  const { holding } = useHere();
  const [sure, ask] = useState(false);
  const whose = holding.people.value.find((person) => person.id === one.person)?.name;
  const end = async () => {
    const reply = await door.end(one.n);
    if (reply.type === "answer") said.value = { key: "access.ended" };
    await ended();
  };
  return (
    <li>
      <p>
        <strong>{whose ?? (one.person || t("access.a_host"))}</strong>
        <span class="soft">
          {" "}
          {t("access.phones.line", { kind: t(`access.kind.${one.kind}`), ago: ago(one.seen_at) })}
        </span>
      </p>
      {one.clock_skew_s !== 0 && <p class="finding">{skewWords("access.phones.skew", one.clock_skew_s)}</p>}
      {one.mine ? (
        <p class="soft">{t("access.phones.mine")}</p>
      ) : (
        <div class="buttons">
          <button type="button" class="pick" onClick={() => (sure ? void end() : ask(true))}>
            {t(sure ? "access.end.sure" : "access.end")}
          </button>
        </div>
      )}
    </li>
  );
}

function AlarmLine({ one }: { one: Alarm }) {
  return (
    <p class="finding">
      {t(`access.alarm.${one.what}`, { times: one.times, source: one.source, at: instant(one.last_at) })}
    </p>
  );
}
