import { type DBSchema, type IDBPDatabase, openDB } from "idb";

/**
 * The way to a store. A browser may close it under the page (its files fail, somebody clears them, another
 * version of the page asks for it): then it is opened again with the next thing to do.
 *
 * @param upgrade makes a fresh store
 * @param reopened called whenever it was opened again
 */
export function connection<Schema extends DBSchema>(
  name: string,
  upgrade: (fresh: IDBPDatabase<Schema>) => void,
  reopened: () => void = () => undefined,
) {
  let current: Promise<IDBPDatabase<Schema>> | null = null;
  let first = true;

  function connect(): Promise<IDBPDatabase<Schema>> {
    if (current !== null) return current;
    const made = openDB<Schema>(name, 1, {
      upgrade,
      // A newer version of the page wants the store, or somebody deletes it: let go, so that nobody waits.
      blocking(_old, _new, event) {
        (event.target as IDBDatabase).close();
        forget(made);
      },
      terminated: () => forget(made),
    });
    current = made;
    made.then(
      () => {
        if (!first) reopened();
        first = false;
      },
      () => forget(made),
    );
    return made;
  }

  function forget(made: Promise<unknown>): void {
    if (current === made) current = null;
  }

  async function using<T>(work: (db: IDBPDatabase<Schema>) => Promise<T>): Promise<T> {
    const made = connect();
    try {
      return await work(await made);
    } catch (error) {
      // No transaction begins on a closed connection: nothing was written, and all of it may be done again.
      if (!(error instanceof DOMException) || error.name !== "InvalidStateError") throw error;
      forget(made);
      return work(await connect());
    }
  }

  return { connect, using };
}
