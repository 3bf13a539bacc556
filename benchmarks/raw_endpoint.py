"""The least a server can do with a batch: parse it, insert its bytes, commit to the disk.

No checking, no order, no reply worth reading. What a sync costs beyond this is what its promises cost.
"""

import os
import sqlite3
from typing import Any

import orjson
from fastapi import FastAPI, Request

app = FastAPI()
connection = sqlite3.connect(os.environ["RAW_DATABASE"], isolation_level=None, check_same_thread=False)
for statement in (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA busy_timeout = 5000",
    "CREATE TABLE IF NOT EXISTS obs "
    "(n INTEGER PRIMARY KEY, id TEXT UNIQUE, dev TEXT, seq INTEGER, ts TEXT, body BLOB)",
):
    connection.execute(statement)


@app.get("/api/health")
async def health() -> dict[str, int]:
    """Count the rows."""
    return {"entries": connection.execute("SELECT count(*) FROM obs").fetchone()[0]}


@app.post("/api/sync")
async def sync(request: Request) -> dict[str, Any]:
    """Insert a batch."""
    call = orjson.loads(await request.body())
    device = call["device"]
    rows = [(one["id"], device, n, one["at"], orjson.dumps(one)) for n, one in enumerate(call["entries"])]
    connection.execute("BEGIN IMMEDIATE")
    connection.executemany(
        "INSERT INTO obs (id, dev, seq, ts, body) VALUES (?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING", rows
    )
    connection.execute("COMMIT")
    return {"accepted": len(rows), "cursor": 0}
