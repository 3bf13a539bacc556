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
    const seen = call.log === undefined || call.log === name ? call.cursor : 0;
    const carried = new Set(call.entries.map((entry) => entry.id));
    const handed = log.slice(seen).filter((entry) => !carried.has(entry.id));
    return {
      accepted,
      held: aside,
      entries: handed,
      cursor: log.length,
      log: name,
      more: false,
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
      if (cut.before) return false;
      dropped.push(id);
      held.delete(id);
      return true;
    },
  };
  return {
    log,
    held,
    dropped,
    calls,
    cut,
    wire,
    /** Put an older state of the log in its place, as a restore from a backup does. */
    restore(entries: number) {
      log.splice(entries);
      name = `${name} restored`;
    },
    judgeBy(how: (entry: Entry) => string | null) {
      judge = how;
    },
  };
}
