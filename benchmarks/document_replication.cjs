/*
 * A general-purpose stack that replicates documents: PouchDB on LevelDB to express-pouchdb on LevelDB, as its
 * manual sets it up. Run from a folder that holds its packages; `sync.py` makes one.
 *
 *     node document_replication.cjs serve FOLDER          prints its port, then on SIGTERM its sockets' bytes
 *     node document_replication.cjs push FOLDER URL FILE BATCH   prints { ms, written, stored }
 */
const { createRequire } = require("node:module");
const { readFileSync } = require("node:fs");
const from = createRequire(`${process.cwd()}/`);
const PouchDB = from("pouchdb");
const BATCHES_AT_ONCE = 10;

function serve(folder) {
  const app = from("express")();
  const documents = from("express-pouchdb")(PouchDB.defaults({ prefix: `${folder}/` }), {
    mode: "minimumForPouchDB",
    inMemoryConfig: true,
    logPath: `${folder}/log.txt`,
  });
  app.use("/", documents);
  const sockets = new Set();
  const server = app.listen(0, "127.0.0.1", () => console.log(server.address().port));
  server.on("connection", (socket) => sockets.add(socket));
  process.on("SIGTERM", () => {
    const sum = (of) => [...sockets].reduce((bytes, socket) => bytes + of(socket), 0);
    console.log(JSON.stringify({ up: sum((one) => one.bytesRead), down: sum((one) => one.bytesWritten) }));
    process.exit(0);
  });
}

async function push(folder, url, file, batch) {
  const entries = JSON.parse(readFileSync(file, "utf8"));
  const local = new PouchDB(`${folder}/phone`);
  await local.bulkDocs(entries.map((entry) => ({ ...entry, _id: entry.id })));
  const remote = new PouchDB(`${url}/log`);
  await remote.info();
  const began = process.hrtime.bigint();
  const done = await local.replicate.to(remote, { batch_size: batch, batches_limit: BATCHES_AT_ONCE });
  const ms = Number(process.hrtime.bigint() - began) / 1e6;
  console.log(JSON.stringify({ ms, written: done.docs_written, stored: (await remote.info()).doc_count }));
}

const [what, folder, url, file, batch] = process.argv.slice(2);
if (what === "serve") serve(folder);
else void push(folder, url, file, Number(batch));
