import "fake-indexeddb/auto";
import { createHash } from "node:crypto";
import { expect, test, vi } from "vitest";
import { openPhotos, type Photos, type Sent } from "./photos";

const bytes = (text: string) => new TextEncoder().encode(text).buffer as ArrayBuffer;
const sha256 = (text: string) => createHash("sha256").update(text).digest("hex");
let stores = 0;

/** A service that answers as it is told, and notes what reached it. */
function opened(...answers: Sent[]) {
  const arrived: string[] = [];
  const send = async (name: string): Promise<Sent> => {
    const answer = answers.shift() ?? "stored";
    if (answer === "stored") arrived.push(name);
    return answer;
  };
  stores += 1;
  return { arrived, photos: openPhotos(send, `photos-${stores}`) };
}

test("a photo is named by the SHA-256 of its bytes and can be read again", async () => {
  const { photos } = opened();
  const name = await photos.keep(bytes("a bed in the rain"), 1);
  expect(name).toBe(sha256("a bed in the rain"));
  expect(new TextDecoder().decode((await photos.read(name)) ?? undefined)).toBe("a bed in the rain");
  expect(await photos.read(sha256("another"))).toBeNull();
});

test("a photo taken while another is on its way goes after it", async () => {
  stores += 1;
  const arrived: string[] = [];
  const photos: Photos = openPhotos(async (name) => {
    arrived.push(name);
    if (arrived.length === 1) {
      await photos.keep(bytes("two"), 2);
      void photos.send();
    }
    return "stored";
  }, `photos-${stores}`);
  await photos.keep(bytes("one"), 1);
  await photos.send();
  expect(arrived).toEqual([sha256("one"), sha256("two")]);
});

test("photos go on after the browser closed their store", async () => {
  let connection: IDBDatabase | undefined;
  const open = IDBFactory.prototype.open;
  vi.spyOn(IDBFactory.prototype, "open").mockImplementation(function (
    this: IDBFactory,
    ...given: Parameters<typeof open>
  ) {
    const asked = open.apply(this, given);
    asked.addEventListener("success", () => {
      connection = asked.result;
    });
    return asked;
  });
  const { photos } = opened();
  const name = await photos.keep(bytes("one"), 1);
  connection?.close();
  expect(await photos.read(name)).not.toBeNull();
});

test("photos wait while nobody answers, and each goes out once afterwards", async () => {
  const { photos, arrived } = opened("stored", "unreachable");
  for (const text of ["one", "two"]) await photos.keep(bytes(text), 1);
  await photos.send();
  expect(arrived).toHaveLength(1);
  expect((await photos.size()).waiting).toBe(1);
  await photos.send();
  await photos.send();
  expect(arrived.toSorted()).toEqual([sha256("one"), sha256("two")].toSorted());
});

test("a photo the service will never take doesn't hold up the others, stays and is told", async () => {
  const { photos, arrived } = opened("refused");
  const names = [];
  for (const text of ["one", "two"]) names.push(await photos.keep(bytes(text), 1));
  await photos.send();
  await photos.send();
  expect(arrived).toHaveLength(1);
  expect(await photos.size()).toMatchObject({ waiting: 0, refused: 1 });
  for (const name of names) expect(await photos.read(name)).not.toBeNull();
  const refused = await Promise.all(names.map((name) => photos.refused(name)));
  expect(refused.toSorted()).toEqual([false, true]);
});

test("a service put back from a backup gets the photos again, once", async () => {
  const { photos, arrived } = opened();
  await photos.keep(bytes("one"), 1);
  await photos.send();
  for (let n = 0; n < 2; n += 1) await photos.send("put back");
  expect(arrived).toEqual([sha256("one"), sha256("one")]);
});

test("the oldest sent photos leave the phone when there are many; waiting ones never do", async () => {
  const { photos } = opened(...Array.from({ length: 45 }, () => "stored" as const), "unreachable");
  for (let n = 0; n < 45; n += 1) await photos.keep(bytes(`photo ${n}`), n);
  await photos.send();
  expect(await photos.read(sha256("photo 0"))).toBeNull();
  expect(await photos.read(sha256("photo 44"))).not.toBeNull();
  await photos.keep(bytes("late"), -1);
  await photos.send();
  expect(await photos.read(sha256("late"))).not.toBeNull();
});
