/** Numbers that look random and are the same for the same seed, so that a failure can be looked at again. */
export function seeded(seed: number) {
  let state = seed;

  /** From 0 up to, and without, 1: the generator mulberry32. */
  function next(): number {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  }
  const below = (most: number): number => Math.floor(next() * most);

  return {
    below,
    chance: (share: number): boolean => next() < share,
    pick: <T>(among: readonly T[]): T => among[below(among.length)] as T,
  };
}
