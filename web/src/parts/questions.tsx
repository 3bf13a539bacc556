import { useHere } from "../here";
import { questions } from "../log/questions";
import { to } from "../route";
import { ago, t } from "../words/words";
import { Glyph } from "./glyph";
import { Part } from "./screen";

/** What was asked and not answered yet, or answered lately; each opens with its answers. */
export function Questions({ station }: { station?: string }) {
  const { journal, holding } = useHere();
  const found = questions(journal.entries.value, new Date()).filter(
    ({ asked }) => station === undefined || asked.station === station,
  );
  if (found.length === 0) return null;
  const name = (id: string | undefined) => holding.people.value.find((one) => one.id === id)?.name ?? "";
  return (
    <Part title={t("app.ask.title")}>
      <ul class="plain-list rows">
        {found.map(({ asked, answers }) => (
          <li key={asked.id}>
            <a class="row" href={to("ask", asked.id)}>
              <Glyph name={answers.length > 0 ? "tick" : "question"} size={30} />
              <span>
                <strong>{String(asked["text"])}</strong>
                <small>
                  {[
                    holding.station(asked.station ?? "")?.name,
                    name(asked.by),
                    ago(asked.at),
                    t("app.ask.answers", { count: answers.length }),
                  ]
                    .filter(Boolean)
                    .join(" · ")}
                </small>
              </span>
            </a>
          </li>
        ))}
      </ul>
    </Part>
  );
}
