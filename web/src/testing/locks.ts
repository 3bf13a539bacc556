/** Locks as a browser has them, as far as the app uses them: one holder at a time, in order. */
export function testLocks(): LockManager {
  let turn: Promise<unknown> = Promise.resolve();

  async function request(
    _name: string,
    options: LockOptions,
    work: () => Promise<unknown>,
  ): Promise<unknown> {
    const before = turn;
    let free: () => void = () => undefined;
    const held = new Promise<void>((done) => {
      free = done;
    });
    turn = before.then(() => held);
    const { signal } = options;
    try {
      await new Promise<void>((done, fail) => {
        signal?.addEventListener("abort", () => fail(new DOMException("aborted", "AbortError")));
        void before.then(() => done());
      });
      return await work();
    } finally {
      free();
    }
  }
  return { request } as unknown as LockManager;
}
