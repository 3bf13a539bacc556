import { expect, test } from "vitest";
import { MOST_A_CALL, START, STORE_FAILED, type SyncEvent, type SyncState, step } from "./step";

/** Let events happen one after the other; give the state at the end and all effects. */
function after(...events: readonly SyncEvent[]) {
  let state: SyncState = START;
  const effects = events.flatMap((event) => {
    const next = step(state, event);
    state = next.state;
    return next.effects;
  });
  return { state, effects };
}

const nudge = (why: "start" | "online" | "entry" | "hand" | "timer"): SyncEvent => ({ type: "nudge", why });
const done: SyncEvent = { type: "answered", moved: true, left: false };

test("a start sends, and an answer with nothing left asks for a plan", () => {
  const { state, effects } = after(nudge("start"), done);
  expect(state.phase).toBe("idle");
  expect(effects).toEqual([{ type: "send", size: MOST_A_CALL }, { type: "plan" }]);
});

test("only one call is out at a time, and what came up meanwhile goes after it", () => {
  const sent = after(nudge("start"), nudge("entry"), nudge("hand"));
  expect(sent.effects.filter(({ type }) => type === "send")).toHaveLength(1);
  const again = after(nudge("start"), nudge("entry"), done);
  expect(again.state.phase).toBe("sending");
  expect(again.effects.filter(({ type }) => type === "send")).toHaveLength(2);
});

test("while rows are left the next call follows at once", () => {
  const { state, effects } = after(nudge("start"), { type: "answered", moved: true, left: true });
  expect(state.phase).toBe("sending");
  expect(effects.map(({ type }) => type)).toEqual(["send", "send"]);
});

test("an answer that names none of the rows blocks, so that the phone doesn't ask for ever", () => {
  const { state } = after(nudge("start"), { type: "answered", moved: false, left: true });
  expect(state).toMatchObject({ phase: "blocked", refusal: "unanswered" });
});

test("with nobody there it waits longer each time, and a success forgets that", () => {
  const waits = after(
    ...[1, 2, 3, 4, 5, 6].flatMap((): SyncEvent[] => [nudge("timer"), { type: "unreachable" }]),
  ).effects.flatMap((effect) => (effect.type === "wake" ? [effect.afterMs] : []));
  expect(waits).toHaveLength(6);
  expect([...waits].sort((one, other) => one - other)).toEqual(waits);
  expect(after(nudge("start"), { type: "unreachable" }, nudge("hand"), done).state.failures).toBe(0);
});

test("a signal that came back while a call without it was still out is used at once, and once", () => {
  const { state, effects } = after(nudge("timer"), nudge("online"), { type: "unreachable" });
  expect(state).toMatchObject({ phase: "sending", failures: 1 });
  expect(effects.map(({ type }) => type)).toEqual(["send", "send"]);
  expect(step(state, { type: "unreachable" }).effects).toEqual([{ type: "wake", afterMs: 15_000 }]);
});

test("a refusal blocks; another entry doesn't try again, a person does", () => {
  const refused: SyncEvent = { type: "refused", status: 422, code: "bad_envelope" };
  const { state } = after(nudge("start"), refused);
  expect(state).toMatchObject({ phase: "blocked", refusal: "bad_envelope" });
  expect(after(nudge("start"), refused, nudge("entry")).state.phase).toBe("blocked");
  expect(after(nudge("start"), refused, nudge("hand")).state.phase).toBe("sending");
});

test("a sign-in renewed while a call without it is out counts at once, and once; too many calls still wait", () => {
  const refused: SyncEvent = { type: "refused", status: 401, code: "signed_out" };
  const { state } = after(nudge("timer"), nudge("hand"), refused);
  expect(state.phase).toBe("sending");
  expect(step(state, refused).state).toMatchObject({ phase: "blocked", refusal: "signed_out" });
  const many: SyncEvent = { type: "refused", status: 429, code: "too_many" };
  expect(after(nudge("timer"), nudge("hand"), many).state.phase).toBe("waiting");
});

test("a write that failed on the phone is tried again soon, and less and less often", () => {
  const failed: SyncEvent = { type: "refused", status: 0, code: STORE_FAILED };
  const { effects } = after(nudge("start"), failed, nudge("timer"), failed);
  expect(effects.flatMap((effect) => (effect.type === "wake" ? [effect.afterMs] : []))).toEqual([
    5_000, 15_000,
  ]);
});

test("a call found too large is halved until it fits", () => {
  const large: SyncEvent = { type: "refused", status: 413, code: "too_large" };
  const { effects } = after(nudge("start"), large, large);
  expect(effects.map((effect) => (effect.type === "send" ? effect.size : 0))).toEqual([1000, 500, 250]);
});

test("on a line that may be too slow for a full call fewer go at a time, and more again when they arrive", () => {
  const sizes = (...events: SyncEvent[]) =>
    after(...events).effects.flatMap((effect) => (effect.type === "send" ? [effect.size] : []));
  const lost = [nudge("timer"), { type: "unreachable" }] as const;
  const left: SyncEvent = { type: "answered", moved: true, left: true };
  expect(sizes(...lost, ...lost, ...lost, ...lost, ...lost, ...lost)).toEqual([
    1000, 1000, 500, 250, 125, 125,
  ]);
  expect(sizes(...lost, ...lost, ...lost, nudge("timer"), left, left, done)).toEqual([
    1000, 1000, 500, 250, 500, 1000,
  ]);
});

test("from every phase a nudge by hand leads to a call, so no state is a dead end", () => {
  for (const event of [done, { type: "unreachable" }, { type: "refused", status: 400, code: "x" }] as const) {
    const { state } = after(nudge("start"), event, nudge("hand"));
    expect(state.phase).toBe("sending");
  }
});

test("after the phone's own store was full, an entry that could be saved starts sending again", () => {
  const full: SyncEvent = { type: "refused", status: 0, code: STORE_FAILED };
  const { state } = after(nudge("start"), full, nudge("entry"));
  expect(state).toMatchObject({ phase: "sending", refusal: null });
});
