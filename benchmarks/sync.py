"""Sync of 10,000 entries beside a raw endpoint that stores the same bytes: ratios of one run.

    python benchmarks/sync.py [--repeats 5] [--entries 10000] [--json]

Both servers run as processes of their own, on loopback, on fresh folders, at full durability, taking
turns. Timed is one client over one connection, from its first byte to the last answer; building the
calls is inside. Takes under a minute.
"""

import argparse
import contextlib
import json
import os
import random
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import orjson

HERE = Path(__file__).parent
SEED = 7
BATCHES = (1000, 100)
WORDS = ["damp", "warm", "quiet", "after", "rain", "lid", "left", "open", "straw", "slow", "eating", "well"]
START_S = 20.0
ANSWER_S = 30.0


@dataclass(frozen=True)
class Timing:
    """What one push took."""

    seconds: float
    sent_bytes: int
    received_bytes: int


class Client:
    """A bare HTTP client over one connection, so that little but the server is timed."""

    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=ANSWER_S)
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.sent = self.received = 0

    def call(self, method: str, path: str, body: bytes = b"") -> bytes:
        """Send one request and read its answer."""
        head = f"{method} {path} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
        request = f"{head}Content-Length: {len(body)}\r\n\r\n".encode() + body
        self.socket.sendall(request)
        self.sent += len(request)
        answer = b""
        while b"\r\n\r\n" not in answer:
            answer += self._more()
        head_text, rest = answer.split(b"\r\n\r\n", 1)
        fields = dict(line.lower().split(b": ", 1) for line in head_text.split(b"\r\n")[1:])
        while len(rest) < int(fields[b"content-length"]):
            rest += self._more()
        if not head_text.startswith(b"HTTP/1.1 200"):
            raise RuntimeError(f"{head_text[:60]!r} {rest[:200]!r}")
        return rest

    def _more(self) -> bytes:
        found = self.socket.recv(1 << 18)
        if not found:
            raise RuntimeError("the server hung up")
        self.received += len(found)
        return found


def setups() -> list[dict[str, Any]]:
    """Give what must be set up before the entries below make sense."""
    fields = {"type": "bed", "name": "Bench bed", "feeding_side": "a"}
    common = {"kind": "setup", "at": "2026-01-01T08:00:00+01:00", "by": "host"}
    return [
        {"id": "set-place", **common, "what": "place", "item": "place", "set": {"name": "Benchmark"}},
        {"id": "set-bed", **common, "what": "station", "item": "bed", "set": fields},
    ]


def entries(count: int) -> list[dict[str, Any]]:
    """Give entries such as phones send, about 250 bytes each, always the same."""
    chance = random.Random(SEED)
    made = []
    for n in range(count):
        at = f"2026-{1 + n % 9:02d}-{1 + n % 28:02d}T{6 + n % 14:02d}:{n % 60:02d}:{n % 53:02d}+01:00"
        one: dict[str, Any] = {
            "id": _uuid(n, chance),
            "station": "bed",
            "side": "a",
            "at": at,
            "by": "host",
        }
        match n % 4:
            case 0 | 1:
                amount = {"value": round(chance.uniform(0.1, 3.0), 2), "unit": "kg"}
                one |= {"kind": "feed", "feedstock": "vegetable_scraps", "amount": amount}
            case 2:
                one |= {
                    "kind": "reading",
                    "temperature": {"value": round(chance.uniform(8, 30), 1), "unit": "degC"},
                }
                one |= {"squeeze": "holds"}
            case _:
                one |= {"kind": "leftover", "left": chance.choice(["none", "some", "most"])}
        note = ""
        while len(orjson.dumps({**one, "note": note})) < 244:
            note += chance.choice(WORDS) + " "
        one["note"] = note.strip()
        made.append(one)
    return made


def _uuid(n: int, chance: random.Random) -> str:
    """Make an id whose head rises, as that of a UUID of version 7 does."""
    tail = f"{chance.randrange(1 << 60):015x}"
    return f"01990000-{n:04x}-7{tail[:3]}-a{tail[3:6]}-{tail[3:]}"


@contextlib.contextmanager
def server(command: list[str], environment: dict[str, str], port: int) -> Iterator[Client]:
    """Run a server as a process of its own until the block ends."""
    process = subprocess.Popen(
        command,
        env={**os.environ, **environment},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=HERE,
    )
    try:
        yield _connected(port)
    finally:
        process.terminate()
        process.wait(10)


def _connected(port: int) -> Client:
    until = time.monotonic() + START_S
    while True:
        try:
            client = Client(port)
            client.call("GET", "/api/health")
            client.sent = client.received = 0
            return client
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.05)


def free_port() -> int:
    """Give a port nobody listens on."""
    with socket.socket() as asking:
        asking.bind(("127.0.0.1", 0))
        return int(asking.getsockname()[1])


@contextlib.contextmanager
def raw(folder: Path) -> Iterator[Client]:
    """Run the raw endpoint."""
    port = free_port()
    command = [sys.executable, "-m", "uvicorn", "raw_endpoint:app", "--port", str(port), "--no-access-log"]
    with server(command, {"RAW_DATABASE": str(folder / "raw.sqlite3")}, port) as client:
        yield client


@contextlib.contextmanager
def ours(folder: Path) -> Iterator[Client]:
    """Run the server as anybody does."""
    port = free_port()
    command = [sys.executable, "-m", "fallowside.cli", "serve", "--port", str(port), "--data", str(folder)]
    with server(command, {"FALLOWSIDE_DATABASE_URL": ""}, port) as client:
        yield client


def push(client: Client, records: list[dict[str, Any]], batch: int, cursor: int) -> tuple[Timing, int]:
    """Push entries in calls of `batch`, following the cursor as a phone does, and time it."""
    client.sent = client.received = 0
    started = time.perf_counter()
    for at in range(0, len(records), batch):
        call = {"device": "bench", "cursor": cursor, "entries": records[at : at + batch]}
        cursor = orjson.loads(client.call("POST", "/api/sync", orjson.dumps(call)))["cursor"]
    return Timing(time.perf_counter() - started, client.sent, client.received), cursor


def measure(repeats: int, count: int) -> dict[str, list[Timing]]:
    """Let the two servers take turns at each task."""
    records = entries(count)
    found: dict[str, list[Timing]] = {}
    for _ in range(repeats):
        for batch in BATCHES:
            for name, kind in (("raw", raw), ("ours", ours)):
                with tempfile.TemporaryDirectory() as folder, kind(Path(folder)) as client:
                    before = len(setups()) if name == "ours" else 0
                    if name == "ours":
                        client.call(
                            "POST", "/api/sync", orjson.dumps({"device": "bench", "entries": setups()})
                        )
                    timing, cursor = push(client, records, batch, before)
                    found.setdefault(f"{name} push, calls of {batch}", []).append(timing)
                    present = json.loads(client.call("GET", "/api/health"))["entries"]
                    assert present == count + before, present
                    if batch == BATCHES[0]:
                        timing, _ = push(client, records, batch, cursor)
                        found.setdefault(f"{name} the same again", []).append(timing)
    return found


def report(found: dict[str, list[Timing]]) -> list[dict[str, Any]]:
    """Give min, median and max of each task, and its ratio to the raw endpoint's."""
    rows = []
    for name, timings in found.items():
        times = [1000 * one.seconds for one in timings]
        base = [1000 * one.seconds for one in found["raw " + name.split(" ", 1)[1]]]
        rows.append(
            {
                "task": name,
                "min_ms": round(min(times), 1),
                "median_ms": round(statistics.median(times), 1),
                "max_ms": round(max(times), 1),
                "ratio": round(statistics.median(times) / statistics.median(base), 2),
                "ratio_of_best": round(min(times) / min(base), 2),
                "sent_bytes": timings[0].sent_bytes,
                "received_bytes": timings[0].received_bytes,
            }
        )
    return sorted(rows, key=lambda row: str(row["task"]).split(" ", 1)[1])


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--entries", type=int, default=10_000)
    parser.add_argument("--json", action="store_true")
    chosen = parser.parse_args()
    rows = report(measure(chosen.repeats, chosen.entries))
    if chosen.json:
        print(json.dumps(rows))
        return
    print(
        f"{chosen.entries:,} entries, {chosen.repeats} runs of each, full durability; ms: min / median / max"
    )
    for row in rows:
        times = f"{row['min_ms']:>8} {row['median_ms']:>8} {row['max_ms']:>8}"
        ratios = f"{row['ratio']:>5} x raw ({row['ratio_of_best']} of the best)"
        print(
            f"{row['task']:<28} {times}   {ratios}   {row['sent_bytes']:,} up, {row['received_bytes']:,} down"
        )


if __name__ == "__main__":
    main()
