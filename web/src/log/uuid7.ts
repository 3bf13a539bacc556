/**
 * Ids made on the phone: UUID version 7 (RFC 9562, section 5.7), which sort by the time they were made.
 *
 * Within one millisecond the 12 bits after the version count up from a random start (section 6.2,
 * method 1), so that two entries saved by the same tap keep their order.
 */
const hex = (value: number | bigint, digits: number) => value.toString(16).padStart(digits, "0");

/** Lay out an id: 48 bits of milliseconds, 12 bits `a`, 62 bits `b`. */
export function layout(ms: number, a: number, b: bigint): string {
  const time = hex(ms, 12);
  const tail = hex((b & 0x3fffffffffffffffn) | 0x8000000000000000n, 16);
  return `${time.slice(0, 8)}-${time.slice(8)}-7${hex(a & 0xfff, 3)}-${tail.slice(0, 4)}-${tail.slice(4)}`;
}

let lastMs = 0;
let count = 0;

/** Make the next id; never smaller than the one before, even if the clock steps back. */
export function uuid7(nowMs: number = Date.now()): string {
  const random = crypto.getRandomValues(new Uint32Array(3));
  if (nowMs > lastMs) {
    lastMs = nowMs;
    count = (random[2] ?? 0) & 0x7ff;
  } else if (count < 0xfff) {
    count += 1;
  } else {
    lastMs += 1;
    count = 0;
  }
  return layout(lastMs, count, (BigInt(random[0] ?? 0) << 32n) | BigInt(random[1] ?? 0));
}
