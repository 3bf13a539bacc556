import { useEffect, useState } from "preact/hooks";
import { door, type Waiting } from "../../access/door";
import { proposes } from "../../access/me";
import { useHere } from "../../here";
import { type Entry, isObject } from "../../log/entry";
import { Part } from "../../parts/screen";
import { findingWords } from "../../words/findings";
import { entryWords, setUpWords, stationName } from "../../words/told";
import { instant, t } from "../../words/words";

/** A host may let these in. */
const FOR_HOSTS = ["host_only", "after_stay", "unusual"];
/** Nobody stands at a probe to mend what it sends. */
const isOfProbe = (one: Waiting) => one.device.startsWith("probe-");

/** What waits for the host who holds this phone; nothing for others, and with no signal. */
export function useWaiting() {
  const { journal } = useHere();
  const [waiting, show] = useState<readonly Waiting[]>([]);
  const look = async () => {
    const reply = await door.waiting();
    if (reply.type === "answer")
      show(reply.body.held.filter((one) => FOR_HOSTS.includes(one.code) || isOfProbe(one)));
  };
  useEffect(() => {
    if (!proposes(journal)) void look();
  }, []);
  return { waiting, look };
}

/** What helpers proposed to set up or recorded after their stay, and what a probe can't have meant. */
export function WaitingForHost() {
  const { journal } = useHere();
  const { waiting, look } = useWaiting();
  if (waiting.length === 0) return null;
  const settle = async (done: Promise<unknown>) => {
    await done;
    journal.nudge("hand");
    await look();
  };
  return (
    <Part title={t("access.waiting.title", { count: waiting.length })}>
      <ul class="plain-list held">
        {waiting.map((one) => (
          <li key={one.ref}>
            <Told one={one} />
            <div class="buttons">
              {FOR_HOSTS.includes(one.code) && (
                <button type="button" class="pick" onClick={() => void settle(door.allow(one.ref))}>
                  {t("access.waiting.allow")}
                </button>
              )}
              <button type="button" class="pick" onClick={() => void settle(door.drop(one.ref))}>
                {t("access.waiting.drop")}
              </button>
            </div>
          </li>
        ))}
      </ul>
    </Part>
  );
}

function Told({ one }: { one: Waiting }) {
  const { holding } = useHere();
  if (!isObject(one.entry)) return null;
  const entry = one.entry as Entry;
  const by = holding.people.value.find((person) => person.id === entry["by"])?.name;
  return (
    <>
      <p>
        <strong>{entryWords(entry, holding)}</strong>
        <span class="soft">
          {" "}
          {[stationName(entry, holding), by, instant(entry.at), isOfProbe(one) && findingWords(one)]
            .filter(Boolean)
            .join(" · ")}
        </span>
      </p>
      {setUpWords(entry, holding).map((line) => (
        <p key={line}>{line}</p>
      ))}
    </>
  );
}
