import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Because, ConstantPlan } from "../generated/shapes";
import { useHere } from "../here";
import type { Entry } from "../log/entry";
import type { Station } from "../log/holding";
import { to } from "../route";
import { readOn } from "../words/language";
import { becauseWords } from "../words/planned";
import { entryWords } from "../words/told";
import { instant, measure, say, t } from "../words/words";

type Constants = Readonly<Record<string, ConstantPlan>>;
type Props = {
  station?: Station;
  because: Because;
  side?: string | null;
  /** Where the figure is of no plan: the constants it came with. */
  constants?: Constants;
  /** What stands between the reason and the entries. */
  more?: ComponentChildren;
};

/** A press on a figure, or on 'why', opens its working: the reason, the entries, the constants. */
export function Why({ children, ...working }: Props & { children?: ComponentChildren }) {
  const [open, show] = useState(false);
  return (
    <>
      <button type="button" class={children ? "figure" : "why"} onClick={() => show(true)}>
        {children ?? t("app.why.open")}
        {children && <span class="heard">{t("app.why.open")}</span>}
      </button>
      {open && <Working {...working} closed={() => show(false)} />}
    </>
  );
}

function Working({ station, because, side = null, constants, more, closed }: Props & { closed(): void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useLayoutEffect(() => dialog.current?.showModal(), []);
  useEffect(() => void readOn(), []);
  return (
    <dialog ref={dialog} class="sheet" aria-label={t("app.why.title")} onClose={closed}>
      <h2>{t("app.why.title")}</h2>
      <p class="lead">{becauseWords(station, because, side)}</p>
      {more}
      <Entries ids={because.entries} />
      <ConstantList names={because.constants} told={constants} />
      <div class="sheet-end">
        <button type="button" class="main" onClick={() => dialog.current?.close()}>
          {t("app.close")}
        </button>
      </div>
    </dialog>
  );
}

/** So many entries are told at once; more are one press away. */
const TOLD = 3;

function Entries({ ids }: { ids: readonly string[] }) {
  const { journal } = useHere();
  const told = new Set(ids);
  const found = journal.entries.value.filter((entry) => told.has(entry.id));
  const missing = ids.length - found.length;
  if (ids.length === 0) return null;
  return (
    <>
      <h3>{t("app.why.entries")}</h3>
      <EntryRows entries={found.slice(0, TOLD)} />
      {found.length > TOLD && (
        <details class="more">
          <summary>{t("app.why.more_entries", { count: found.length - TOLD })}</summary>
          <EntryRows entries={found.slice(TOLD)} />
        </details>
      )}
      {missing > 0 && <p class="soft">{t("app.why.not_here", { count: missing })}</p>}
    </>
  );
}

function EntryRows({ entries }: { entries: readonly Entry[] }) {
  const { holding } = useHere();
  return (
    <ul class="plain-list rows">
      {entries.map((entry) => (
        <li key={entry.id}>
          <a class="row" href={to("entry", entry.id)}>
            <span>
              {entryWords(entry, holding)}
              <small>{instant(entry.at)}</small>
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

function ConstantList({ names, told }: { names: readonly string[]; told: Constants | undefined }) {
  const { holding } = useHere();
  const constants = told ?? holding.plan.value?.constants ?? {};
  const found = names.flatMap((name) => {
    const one = constants[name];
    return one ? [[name, one] as const] : [];
  });
  if (found.length === 0) return null;
  return (
    <>
      <h3>{t("app.why.constants")}</h3>
      <dl class="constants">
        {found.map(([name, one]) => (
          <ConstantLine key={name} name={name} one={one} />
        ))}
      </dl>
    </>
  );
}

function ConstantLine({ name, one }: { name: string; one: ConstantPlan }) {
  return (
    <>
      <dt>
        <strong>{say([`constant.${name}`, "app.why.constant"], { name: spoken(name) })}</strong>
        <span>{measure(one.value, one.unit)}</span>
      </dt>
      <dd>
        {one.low !== one.high && (
          <p>{t("app.why.range", { low: measure(one.low, one.unit), high: measure(one.high, one.unit) })}</p>
        )}
        <p>
          {one.cite}
          {one.where && ` · ${one.where}`}
        </p>
        <p class="soft">{t(`app.confidence.${one.confidence}`)}</p>
        {one.note && <p class="soft">{one.note}</p>}
      </dd>
    </>
  );
}

const spoken = (name: string): string => name.split(".").at(-1)?.replaceAll("_", " ") ?? name;
