"""Several server processes on one PostgreSQL: a reader that goes from one to the next misses nothing."""

import http.client
import json
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from fallowside.store import integrity
from tests.faults.born import BornServer
from tests.logs import setups
from tests.postgres import Cluster
from tests.stores import feed, logged

SERVERS, WRITERS, CALLS, ENTRIES = 3, 50, 6, 4


def call(port: int, **fields: Any) -> Any:
    """Call until there is an answer, as phones do: a busy machine may tell some of fifty to wait."""
    while True:
        link = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        try:
            link.request("POST", "/api/sync", json.dumps(fields).encode())
            answer = link.getresponse()
            heard = json.loads(answer.read())
        finally:
            link.close()
        if answer.status != 503:
            assert answer.status == 200, heard
            return heard


def test_a_reader_sees_each_entry_once_while_fifty_write_to_three_servers(
    cluster: Cluster, tmp_path: Path
) -> None:
    # The database is empty: the three also make its tables at the same moment.
    url = cluster.new()
    servers = [BornServer(tmp_path / str(n), url) for n in range(SERVERS)]
    with ThreadPoolExecutor(SERVERS) as starting:
        list(starting.map(BornServer.start, servers))
    call(servers[0].port, device="host", entries=setups())
    done = threading.Event()
    seen: list[str] = []
    cursors: list[int] = []

    def write(writer: int) -> None:
        for n in range(CALLS):
            first = (writer * CALLS + n) * ENTRIES
            made = [feed(number) for number in range(first, first + ENTRIES)]
            heard = call(servers[(writer + n) % SERVERS].port, device=f"writer-{writer}", entries=made)
            assert len(heard["accepted"]) == ENTRIES

    def read() -> None:
        cursor = turn = 0
        while True:
            last = done.is_set()
            turn += 1
            heard = call(servers[turn % SERVERS].port, device="reader", cursor=cursor)
            seen.extend(one["id"] for one in heard["entries"])
            cursor = heard["cursor"]
            cursors.append(cursor)
            if last and not heard["more"] and not heard["entries"]:
                return

    reader = threading.Thread(target=read)
    reader.start()
    try:
        with ThreadPoolExecutor(WRITERS) as pool:
            list(pool.map(write, range(WRITERS)))
    finally:
        done.set()
        reader.join()
    for server in servers:
        server.kill()
    expected = {one["id"] for one in setups()} | {f"feed-{n}" for n in range(WRITERS * CALLS * ENTRIES)}
    assert len(seen) == len(set(seen))
    assert set(seen) == expected
    assert cursors == sorted(cursors)
    database = servers[0].settings.open_database()
    assert {one["id"] for one in logged(database)} == expected
    assert integrity.check(database).sound
    database.close()
