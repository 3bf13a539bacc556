/** How long a page waits for its turn: one that was frozen in the middle of a call keeps it as it sleeps. */
const PATIENCE_MS = 60_000;
const LOCK = "fallowside-sync";

/**
 * Let the pages of the app send one at a time. Where there are no locks, or nobody gives one back, a page
 * goes without: the service takes an entry once, and the store an answer only where it left off.
 */
export function inTurn(locks: LockManager | undefined) {
  return async <T>(work: () => Promise<T>): Promise<T> => {
    if (locks === undefined) return work();
    const patience = new AbortController();
    const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
    try {
      return await (locks.request(LOCK, { signal: patience.signal }, () => {
        clearTimeout(timer);
        return work();
      }) as Promise<T>);
    } catch (error) {
      if (!patience.signal.aborted) throw error;
      return work();
    } finally {
      clearTimeout(timer);
    }
  };
}
