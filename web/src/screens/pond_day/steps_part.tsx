import type { DayStep } from "../../generated/watershapes";
import type { Station } from "../../log/holding";
import { Glyph } from "../../parts/glyph";
import { Part } from "../../parts/screen";
import { Why } from "../../parts/why";
import { adviceWords, becauseWords } from "../../words/planned";
import { t } from "../../words/words";

/** What is done, in order, each step with its caution under it. */
export function StepsPart({ station, steps }: { station: Station; steps: readonly DayStep[] }) {
  return (
    <Part title={t("app.pond_day.steps")}>
      <ol class="day-steps">
        {steps.map((step) => (
          <li key={step.name}>
            <p>
              {becauseWords(station, step.because)}{" "}
              {step.because.constants.length > 0 && <Why station={station} because={step.because} />}
            </p>
            {step.cautions.map((key) => (
              <p key={key} class="soft step-caution">
                <Glyph name="caution" size={18} />
                <span>{adviceWords(station, key)}</span>
              </p>
            ))}
          </li>
        ))}
      </ol>
    </Part>
  );
}
