import { useHere } from "../../here";
import { Choice } from "../../parts/choice";
import { sideName } from "../../words/planned";
import { t } from "../../words/words";
import type { Form } from "./form";

/** Which side of the bed; the one being fed says so. */
export function SidePick({ form }: { form: Form }) {
  const { holding } = useHere();
  const feeding = holding.feedingSide(form.station.id);
  const choices = ["a", "b"].map((side) => ({
    value: side,
    words: sideName(form.station, side),
    under: t(side === feeding ? "app.side.feeding" : "app.side.resting"),
  }));
  return (
    <Choice
      legend={t("app.field.side")}
      choices={choices}
      plain
      chosen={[form.side.value]}
      onChoose={(side) => {
        form.side.value = side;
        form.finding.value = null;
      }}
    />
  );
}
