import { useHere } from "../here";
import { Head } from "../parts/screen";
import { to } from "../route";
import { LANGUAGES, languageFor } from "../words/language";
import { t } from "../words/words";
import { AboutPart } from "./set_up/about";
import { Cautions } from "./set_up/cautions";
import { FoldPart } from "./set_up/fold_part";
import { ItemList } from "./set_up/item_list";
import { LanguagePart } from "./set_up/language";
import { PhonesPart } from "./set_up/phones";
import { RemindersPart } from "./set_up/reminders_part";
import { RosterPart } from "./set_up/roster_part";
import { SheetsPart } from "./set_up/sheets";
import { SyncPart } from "./set_up/sync_part";
import { useWaiting } from "./set_up/waiting_for_host";
import { WhoPart } from "./set_up/who";

/** The place itself, a page a matter: who is writing, what is set up, how sending stands. */
export function PlaceScreen({ section }: { section: string }) {
  const Section = SECTIONS[section];
  if (Section === undefined) return <Contents />;
  return (
    <>
      <Head title={t(`app.place.${section}`)}>
        <p>
          <a href={to("place")}>{t("app.place.back")}</a>
        </p>
      </Head>
      <Section />
    </>
  );
}

const SECTIONS: Readonly<Record<string, () => preact.JSX.Element>> = {
  who: WhoPart,
  phones: PhonesPart,
  language: LanguagePart,
  sync: SyncPart,
  reminders: RemindersPart,
  roster: RosterPart,
  stations: () => <ItemList what="station" />,
  people: () => <ItemList what="person" />,
  containers: () => <ItemList what="container" />,
  feedstocks: () => <ItemList what="feedstock" />,
  place: () => <ItemList what="place" />,
  fold: FoldPart,
  cautions: Cautions,
  sheets: SheetsPart,
  about: AboutPart,
};

function Contents() {
  const { journal, holding, fold } = useHere();
  const waiting = useWaiting().waiting.length;
  const me = holding.people.value.find((one) => one.id === journal.kept.value["person"]);
  const under: Readonly<Record<string, string>> = {
    who: me ? me.name : t("app.place.who_nobody"),
    phones: waiting > 0 ? t("access.waiting.title", { count: waiting }) : "",
    language: LANGUAGES[languageFor(journal.kept.value["language"], navigator.languages)],
    sync: t("app.place.sync_under", { unsent: journal.unsent.value.length, held: journal.held.value.length }),
    stations: holding.stations.value.map((one) => one.name).join(t("app.comma")),
    people: t("app.place.count", { count: holding.people.value.length }),
    containers: t("app.place.count", { count: holding.containers.value.length }),
    place: holding.name.value,
    fold: t(`app.fold.short.${fold.state.value.phase}`),
  };
  return (
    <>
      <Head title={holding.name.value || t("app.nav.place")}>
        {holding.invented.value && <p class="notice">{t("app.invented_long")}</p>}
      </Head>
      <ul class="plain-list rows">
        {Object.keys(SECTIONS).map((name) => (
          <li key={name}>
            <a class="row" href={to("place", name)}>
              <span>
                <strong>{t(`app.place.${name}`)}</strong>
                {under[name] && <small>{under[name]}</small>}
              </span>
            </a>
          </li>
        ))}
      </ul>
    </>
  );
}
