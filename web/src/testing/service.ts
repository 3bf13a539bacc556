import type { HeldEntry } from "../generated/syncshapes";
import type { Entry } from "../log/entry";
import type { Incoming, Outgoing, Reply, Wire } from "../log/wire";

/** A service for tests: keeps a log as the real one does; its wire can be cut before or after it works. */
export function testService() {
  const log: Entry[] = [];
  let name = "first";
  const held = new Map<string, Entry>();
  const dropped: string[] = [];
  const calls: Outgoing[] = [];
  const cut = { before: false, after: false };
  const most = { handedOut: 2000 };
  let judge: (entry: Entry) => string | null = () => null;

  function take(call: Outgoing): Incoming {
    const accepted: string[] = [];
    const aside: HeldEntry[] = [];
    call.entries.forEach((entry, index) => {
      const there = log.find((one) => one.id === entry.id);
      const code = there && JSON.stringify(there) !== JSON.stringify(entry) ? "id_taken" : judge(entry);
      if (code !== null) {
        held.set(entry.id, entry);
        aside.push({
          id: entry.id,
          index,
          ref: `ref-${entry.id}`,
          code,
          why: code,
          field: "station",
          values: {},
        });
        return;
      }
      held.delete(entry.id);
      if (!there) log.push(entry);
      accepted.push(entry.id);
    });
    const other = call.log !== undefined && call.log !== name;
    const seen = other || call.cursor > log.length ? 0 : call.cursor;
    const own = new Set(accepted);
    const page = log.slice(seen, seen + most.handedOut);
    return {
      accepted,
      held: aside,
      entries: page.filter((entry) => !own.has(entry.id)),
      cursor: seen + page.length,
      log: name,
      more: seen + page.length < log.length,
      server_time: "2026-03-01T06:30:00Z",
    };
  }

  const wire: Wire = {
    async sync(call): Promise<Reply<Incoming>> {
      calls.push(call);
      if (cut.before) return { type: "unreachable" };
      const body = take(structuredClone(call));
      return cut.after ? { type: "unreachable" } : { type: "answer", body };
    },
    plan: async () => ({ type: "unreachable" }),
    tally: async () => ({ type: "unreachable" }),
    route: async () => ({ type: "unreachable" }),
    async drop(id) {
      if (cut.before) return { type: "unreachable" };
      dropped.push(id);
      if (held.delete(id)) return { type: "answer", body: {} };
      return { type: "refused", status: 404, code: "not_held", detail: "" };
    },
  };
  return {
    log,
    held,
    dropped,
    calls,
    cut,
    most,
    wire,
    /** Put an older state of the log in its place, as a restore from a backup does. */
    restore(entries: number) {
      log.splice(entries);
      name = `${name} restored`;
    },
    /** Put an older state in its place behind its back, as one who copies files does: its name stays. */
    rollBack(entries: number) {
      log.splice(entries);
    },
    /** Let in what waits and is good by now, as the real one does when something is set up. */
    letIn() {
      for (const [id, entry] of held) {
        if (judge(entry) !== null || log.some((one) => one.id === id)) continue;
        log.push(entry);
        held.delete(id);
      }
    },
    judgeBy(how: (entry: Entry) => string | null) {
      judge = how;
    },
  };
}
