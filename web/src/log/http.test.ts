import { expect, test, vi } from "vitest";
import { rfc3339 } from "./clock";
import type { Entry } from "./entry";
import { httpWire } from "./http";
import { MOST_A_CALL } from "./step";
import { uuid7 } from "./uuid7";

const call = (count: number) => ({
  device: "phone",
  cursor: 0,
  entries: Array.from({ length: count }, (_, n) => ({
    id: `entry-${n}`,
    kind: "signs",
    at: "2026-03-01T07:30Z",
  })),
  sent_at: "2026-03-01T07:30:00Z",
});

/** An entry as this phone writes it, with a number of its own: the part that can't be packed. */
function written(n: number): Entry {
  const made = new Date(Date.UTC(2026, 2, 1, 7, 30) + n * 3_600_000);
  return {
    id: uuid7(made.getTime()),
    at: rfc3339(made),
    noted_at: rfc3339(made),
    device: "019cd0f1-5a2b-7c3d-8e4f-0123456789ab",
    by: n % 3 === 0 ? "ana" : "kit",
    kind: "feed",
    station: "trough",
    side: n % 2 === 0 ? "a" : "b",
    feedstock: "vegetable_scraps",
    amount: { value: (n % 40) / 20, unit: "kg" },
  };
}

function answering(body: BodyInit, init: ResponseInit = {}) {
  const asked: { url: string; init: RequestInit }[] = [];
  vi.stubGlobal("fetch", async (url: string, given: RequestInit) => {
    asked.push({ url, init: given });
    return new Response(body, init);
  });
  return asked;
}

test("a call with many entries is packed, and says so; a small one goes as it is", async () => {
  const asked = answering("{}");
  await httpWire().sync(call(1));
  await httpWire().sync(call(200));
  expect(asked.map(({ init }) => new Headers(init.headers).get("Content-Encoding"))).toEqual([null, "gzip"]);
  const packed = asked[1]?.init.body as Blob;
  const plain = packed.stream().pipeThrough(new DecompressionStream("gzip"));
  expect(await new Response(plain).json()).toEqual(call(200));
});

test("where the browser can't pack, all goes as plain JSON", async () => {
  vi.stubGlobal("CompressionStream", undefined);
  const asked = answering("{}");
  await httpWire().sync(call(200));
  vi.unstubAllGlobals();
  expect(new Headers(asked[0]?.init.headers).get("Content-Encoding")).toBeNull();
  expect(JSON.parse(asked[0]?.init.body as string)).toEqual(call(200));
});

test("a full call is at most a quarter of its JSON on the wire, and stays under what the service reads", async () => {
  const asked = answering("{}");
  const entries = Array.from({ length: MOST_A_CALL }, (_, n) => written(n));
  await httpWire().sync({ ...call(0), entries });
  const raw = JSON.stringify({ ...call(0), entries }).length;
  const packed = asked.map(({ init }) => (init.body as Blob).size / raw);
  expect(packed).toHaveLength(1);
  expect(Math.max(...packed)).toBeLessThanOrEqual(0.25);
  expect(raw).toBeLessThan(10 * 1024 * 1024);
});

test("between reading an answer and taking it in a touch has its turn", async () => {
  vi.stubGlobal("fetch", async () => ({ ok: true, status: 200, json: async () => ({}) }));
  const order: string[] = [];
  setTimeout(() => order.push("touch"));
  await httpWire().plan();
  order.push("taken in");
  expect(order).toEqual(["touch", "taken in"]);
});

test("no answer, a page of somebody else, and a service that is starting are all 'nobody there'", async () => {
  vi.stubGlobal("fetch", async () => {
    throw new TypeError("failed to fetch");
  });
  expect(await httpWire().plan()).toEqual({ type: "unreachable" });
  answering("<html>Log in to this network</html>");
  expect(await httpWire().plan()).toEqual({ type: "unreachable" });
  answering("busy", { status: 503 });
  expect(await httpWire().plan()).toEqual({ type: "unreachable" });
  answering("<html>Log in to this network</html>", { status: 403 });
  expect(await httpWire().plan()).toEqual({ type: "unreachable" });
});

test("a long answer on a slow line is heard to its end; one that stops on the way is not waited for", async () => {
  vi.useFakeTimers();
  const slow = (pieces: readonly string[], ends: boolean) =>
    vi.stubGlobal("fetch", async (_url: string, { signal }: RequestInit) => {
      const body = new ReadableStream<Uint8Array>({
        async start(to) {
          signal?.addEventListener("abort", () => to.error(signal.reason));
          for (const piece of pieces) {
            await new Promise((done) => setTimeout(done, 15_000));
            to.enqueue(new TextEncoder().encode(piece));
          }
          if (ends) to.close();
        },
      });
      return new Response(body);
    });
  slow(["{", '"cursor"', ":", "7", "}"], true);
  const whole = httpWire().sync(call(0));
  await vi.advanceTimersByTimeAsync(80_000);
  expect(await whole).toEqual({ type: "answer", body: { cursor: 7 } });
  slow(["{", '"cursor"'], false);
  const broken = httpWire().sync(call(0));
  await vi.advanceTimersByTimeAsync(60_000);
  expect(await broken).toEqual({ type: "unreachable" });
  vi.useRealTimers();
});

test("a refusal tells its code, by problem JSON (RFC 9457)", async () => {
  answering(JSON.stringify({ status: 422, code: "bad_envelope", detail: "too many entries" }), {
    status: 422,
  });
  const refused = { type: "refused", status: 422, code: "bad_envelope", detail: "too many entries" };
  expect(await httpWire().sync(call(1))).toEqual(refused);
});

test("a call too large for a proxy is told by its status, whatever the proxy writes", async () => {
  answering("<html>Request Entity Too Large</html>", { status: 413 });
  expect(await httpWire().sync(call(1))).toMatchObject({ type: "refused", status: 413 });
});

test("an entry the service doesn't hold is told from a page that isn't there", async () => {
  answering('{"code": "not_held"}', { status: 404 });
  expect(await httpWire().drop("gone")).toMatchObject({ type: "refused", status: 404 });
  answering("<html>Log in to this network</html>", { status: 404 });
  expect(await httpWire().drop("there")).toEqual({ type: "unreachable" });
});
