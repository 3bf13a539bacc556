import type { Figure } from "../generated/shapes";
import type { StackBox } from "../generated/watershapes";
import type { Station } from "../log/holding";
import { MADE_UP } from "../log/known_names";
import { figureWords, number, t } from "../words/words";
import { Part } from "./screen";
import { Why } from "./why";

/** A hive's stack from above, a row a box: drawn beside its words, the entrance at the foot. */
export function Stack({ station }: { station: Station }) {
  if (station.type !== "hive" || station.plan === undefined) return null;
  const boxes = (station.plan.state["stack"] ?? []) as readonly StackBox[];
  return (
    <>
      <Part title={t("app.hive.stack")}>
        <p class="soft">{t("app.hive.stack_about")}</p>
        {boxes.length === 0 ? (
          <p>{t("app.hive.empty")}</p>
        ) : (
          <ol class="stack">
            {boxes.map((box) => (
              <li key={box.box}>
                <Drawn holds={box.holds} />
                <BoxWords station={station} box={box} />
              </li>
            ))}
          </ol>
        )}
      </Part>
      <Sums station={station} title={t("app.hive.years")} sums={station.plan.state["years"]} />
      <Sums station={station} title={t("app.hive.boxes")} sums={station.plan.state["by_box"]} box />
    </>
  );
}

const AT_START = "start-";

export function boxName(name: string): string {
  if (name.startsWith(AT_START)) return t("app.hive.start_box", { box: name.slice(AT_START.length) });
  return name.length > MADE_UP
    ? t("app.hive.unnamed")
    : t("app.hive.box", { box: name.replace(/^box[-_ ]/i, "") });
}

function BoxWords({ station, box }: { station: Station; box: StackBox }) {
  return (
    <span>
      <strong>{boxName(box.box)}</strong>
      <Why station={station} because={box.because}>
        {t(`app.hive.holds.${box.holds}`)}
      </Why>
      <small class="soft">{t("app.hive.days", { days: box.days })}</small>
    </span>
  );
}

/** What fills a box in the drawing: comb hanging down, brood as dots, honey as full cells. */
const INSIDE: Readonly<Record<StackBox["holds"], string>> = {
  building: "M20 10v16M36 10v9M52 10v20M68 10v7M84 10v14",
  brood: "M20 18h.01M34 26h.01M48 20h.01M62 28h.01M76 20h.01M90 27h.01M27 35h.01M55 37h.01M83 36h.01",
  honey: "M20 12v26M32 12v26M44 12v26M56 12v26M68 12v26M80 12v26M92 12v26",
};

function Drawn({ holds }: { holds: StackBox["holds"] }) {
  return (
    <svg viewBox="0 0 112 48" aria-hidden="true" class={`box box-${holds}`}>
      <path class="box-wood" d="M4 7C40 4 78 9 108 6L106 42C72 45 38 40 6 43Z" />
      <path class="box-inside" d={INSIDE[holds]} />
    </svg>
  );
}

type Summed = { station: Station; title: string; sums: unknown; box?: boolean };

function Sums({ station, title, sums, box = false }: Summed) {
  const rows = Object.entries((sums ?? {}) as Readonly<Record<string, Figure>>);
  if (rows.length === 0) return null;
  return (
    <Part title={title}>
      <dl class="figures">
        {rows.map(([name, kg]) => (
          <>
            <dt>{box ? boxName(name) : number(Number(name)).replace(/\D/g, "")}</dt>
            <dd>
              <Why station={station} because={kg.because}>
                {figureWords(kg)}
              </Why>
            </dd>
          </>
        ))}
      </dl>
    </Part>
  );
}
