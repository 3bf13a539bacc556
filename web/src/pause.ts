/** Let the browser look after everything else first: between two pieces of work a touch is answered. */
export const pause = (): Promise<void> => new Promise((done) => setTimeout(done));
