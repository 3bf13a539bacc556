import type { DBSchema } from "idb";
import { connection } from "./connection";

/*
 * Photos wait in a store of their own until the service has them. Each is named by the SHA-256 of its
 * bytes, as the service knows it, and goes out whole; sent twice it is still one.
 */
type Kept = {
  readonly name: string;
  readonly body: ArrayBuffer;
  readonly taken: number;
  /** The service has it. */
  readonly done: boolean;
  /** Which service had it, as `send` was told: another one, put back from a backup, may lack it. */
  readonly by?: string;
  /** The service will never take it: it stays on the phone, which has the only copy. */
  readonly refused?: boolean;
};

interface Schema extends DBSchema {
  photos: { key: string; value: Kept };
}

/** How sending one ended: `refused` ones can't be mended by sending them again. */
export type Sent = "stored" | "refused" | "unreachable";

/** Sent photos stay on the phone that took them until there are more than this. */
const MOST_KEPT = 40;
const STRICT = { durability: "strict" } as const;

export type Photos = ReturnType<typeof openPhotos>;

export function openPhotos(
  send: (name: string, body: ArrayBuffer) => Promise<Sent>,
  name = "fallowside-photos",
) {
  /** Opened when it is first needed: the start of the app doesn't wait for it. */
  const { using } = connection<Schema>(
    name,
    (fresh) => void fresh.createObjectStore("photos", { keyPath: "name" }),
  );
  let sending: Promise<void> | null = null;
  /** The service to send to next: a photo taken while others are on their way goes after them. */
  let next: string | null = null;

  const put = (kept: Kept): Promise<void> =>
    using(async (db) => {
      const tx = db.transaction("photos", "readwrite", STRICT);
      const stored = tx.store.put(kept);
      tx.commit();
      await Promise.all([stored, tx.done]);
    });
  const all = () => using((db) => db.getAll("photos"));
  const one = (named: string) => using((db) => db.get("photos", named));

  async function sendNext(): Promise<void> {
    while (next !== null) {
      const to = next;
      next = null;
      await sendAll(to);
    }
  }

  async function sendAll(to: string): Promise<void> {
    const due = (await all()).filter((one) => !one.refused && !(one.done && (one.by ?? "") === to));
    for (const kept of due) {
      const sent = await send(kept.name, kept.body);
      if (sent === "unreachable") return;
      await put(sent === "stored" ? { ...kept, done: true, by: to } : { ...kept, refused: true });
    }
    const done = (await all()).filter((one) => one.done).sort((a, b) => b.taken - a.taken);
    for (const old of done.slice(MOST_KEPT)) await using((db) => db.delete("photos", old.name));
  }

  return {
    /** Keep a photo on the phone; resolves with its name once it is on the disk. */
    async keep(body: ArrayBuffer, taken: number): Promise<string> {
      const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
      const named = Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
      await put({ name: named, body, taken, done: false });
      return named;
    },

    /** The bytes of a photo this phone has; null of another. */
    read: async (named: string): Promise<ArrayBuffer | null> => (await one(named))?.body ?? null,

    /** Whether the service would not take it: then only this phone has it. */
    refused: async (named: string): Promise<boolean> => (await one(named))?.refused === true,

    /** Send what waits to the service with this log, one after the other; stops where nobody answers. */
    send(to = ""): Promise<void> {
      next = to;
      sending ??= sendNext().finally(() => {
        sending = null;
      });
      return sending;
    },

    /** How many wait, how many were refused, and how much room all of them take here. */
    async size(): Promise<{ readonly waiting: number; readonly refused: number; readonly bytes: number }> {
      const here = await all();
      return {
        waiting: here.filter((one) => !one.done && !one.refused).length,
        refused: here.filter((one) => one.refused).length,
        bytes: here.reduce((sum, one) => sum + one.body.byteLength, 0),
      };
    },
  };
}
