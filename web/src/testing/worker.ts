import type { Asked, Told } from "../core/messages";

/** A worker for tests: keeps what it is told, and says what a test lets it say. */
export class TestWorker {
  onmessage: ((event: { data: Told }) => void) | null = null;
  onerror: ((event: { message: string }) => void) | null = null;
  readonly heard: Asked[] = [];
  ended = false;

  postMessage(asked: Asked): void {
    this.heard.push(asked);
  }

  terminate(): void {
    this.ended = true;
  }

  say(told: Told): void {
    this.onmessage?.({ data: told });
  }

  open(holds = "", loose = "[]"): void {
    this.say({ type: "opened", boot: holds ? "restored" : "plain", ms: 1, holds, loose });
  }

  /** The entries it was given since it last forgot all. */
  get log(): { id: string }[] {
    const from = this.heard.findLastIndex((asked) => asked.type === "forget") + 1;
    return this.heard.slice(from).flatMap((asked) => (asked.type === "take" ? JSON.parse(asked.text) : []));
  }

  /** Answer the last question with a plan of what it was given. */
  plan(): void {
    const asked = this.heard.findLast((one) => one.type === "plan");
    if (asked?.type !== "plan") throw new Error("no plan was asked for");
    const text = JSON.stringify({ at: asked.at, made_from: { entries: this.log.length } });
    this.say({ type: "planned", ask: asked.ask, text, ms: 1 });
  }

  get questions(): number {
    return this.heard.filter((asked) => asked.type === "plan").length;
  }
}
