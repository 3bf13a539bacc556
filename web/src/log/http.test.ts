import { expect, test, vi } from "vitest";
import { httpWire } from "./http";

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

test("no answer, a page of somebody else, and a service that is starting are all 'nobody there'", async () => {
  vi.stubGlobal("fetch", async () => {
    throw new TypeError("failed to fetch");
  });
  expect(await httpWire().plan()).toEqual({ type: "unreachable" });
  answering("<html>Log in to this network</html>");
  expect(await httpWire().plan()).toEqual({ type: "unreachable" });
  answering("busy", { status: 503 });
  expect(await httpWire().plan()).toEqual({ type: "unreachable" });
});

test("a refusal tells its code, by problem JSON (RFC 9457)", async () => {
  answering(JSON.stringify({ status: 422, code: "bad_envelope", detail: "too many entries" }), {
    status: 422,
  });
  const refused = { type: "refused", status: 422, code: "bad_envelope", detail: "too many entries" };
  expect(await httpWire().sync(call(1))).toEqual(refused);
});

test("an entry the service doesn't hold counts as dropped; a failed call doesn't", async () => {
  answering("{}", { status: 404 });
  expect(await httpWire().drop("gone")).toBe(true);
  answering("{}", { status: 500 });
  expect(await httpWire().drop("there")).toBe(false);
});
