/** So long a frame is waited for at most: a page that is hidden meanwhile has none. */
const PATIENCE_MS = 500;

/**
 * Resolves once what was just drawn has been painted: a tap is answered first, and what nobody sees yet comes
 * after it. A page out of sight paints nothing and isn't waited for.
 */
export function painted(): Promise<void> {
  if (typeof requestAnimationFrame !== "function" || document.hidden) return Promise.resolve();
  return new Promise((done) => {
    const timer = setTimeout(done, PATIENCE_MS);
    // A frame is painted right after its callbacks; the page's next turn is after that.
    requestAnimationFrame(() =>
      setTimeout(() => {
        clearTimeout(timer);
        done();
      }),
    );
  });
}
