"""Sync beside a raw endpoint that stores the same bytes, and a general stack that replicates documents.

    python -m benchmarks.sync [--repeats 5] [--entries 1000 10000] [--peer-repeats 2]

All servers run as processes of their own, on loopback, on fresh folders, taking turns: ratios of one run.
The raw endpoint and ours commit to the disk at each call, ours asks for a session too; the document stack,
PouchDB to express-pouchdb with LevelDB on both sides, flushes nothing (its phone's queue is filled before
the clock starts). Timed is one client over one connection, from its first byte to the last answer; building
the calls, and packing them where a phone would, is inside. The packages of the document stack are fetched
into a folder of their own that goes again; with no network it is left out, and that is said.
"""

import argparse
import contextlib
import gzip
import json
import os
import random
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import orjson

from tests.ports import free_port

HERE = Path(__file__).parent
SEED = 7
BATCH = 1000
"""Entries of one call: as many as a phone sends at once."""
PEER = ("pouchdb@9.0.0", "express-pouchdb@4.2.0", "express@4.21.2")
PEER_SCRIPT = HERE / "document_replication.cjs"
PACKING_LEVEL = 6
RAW, OURS = "raw endpoint", "ours"
WORDS = ["damp", "warm", "quiet", "after", "rain", "lid", "left", "open", "straw", "slow", "eating", "well"]
START_S = 60.0
ANSWER_S = 30.0


@dataclass(frozen=True)
class Timing:
    """What one push took."""

    seconds: float
    sent_bytes: int
    received_bytes: int
    calls: int


class Client:
    """A bare HTTP client over one connection, so that little but the server is timed."""

    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=ANSWER_S)
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.sent = self.received = 0
        self.cookie = ""

    def call(self, method: str, path: str, body: bytes = b"", heads: str = "") -> bytes:
        """Send one request and read its answer."""
        head = f"{method} {path} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n{heads}"
        head += f"Cookie: {self.cookie}\r\n" if self.cookie else ""
        request = f"{head}Content-Length: {len(body)}\r\n\r\n".encode() + body
        self.socket.sendall(request)
        self.sent += len(request)
        answer = b""
        while b"\r\n\r\n" not in answer:
            answer += self._more()
        head_text, rest = answer.split(b"\r\n\r\n", 1)
        fields = dict(line.lower().split(b": ", 1) for line in head_text.split(b"\r\n")[1:])
        if b"set-cookie" in fields:
            self.cookie = re.findall(r"(?i)set-cookie: ([^;]*)", head_text.decode())[0]
        while len(rest) < int(fields[b"content-length"]):
            rest += self._more()
        if not head_text.startswith(b"HTTP/1.1 200"):
            raise RuntimeError(f"{head_text[:60]!r} {rest[:200]!r}")
        return gzip.decompress(rest) if fields.get(b"content-encoding") == b"gzip" else rest

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


@contextlib.contextmanager
def raw(folder: Path) -> Iterator[Client]:
    """Run the raw endpoint."""
    port = free_port()
    command = [sys.executable, "-m", "uvicorn", "raw_endpoint:app", "--port", str(port), "--no-access-log"]
    with server(command, {"RAW_DATABASE": str(folder / "raw.sqlite3")}, port) as client:
        yield client


@contextlib.contextmanager
def ours(folder: Path) -> Iterator[Client]:
    """Run the server as it is for phones, and pair one."""
    port = free_port()
    words = [sys.executable, "-m", "fallowside.cli"]
    settings = {"FALLOWSIDE_DATABASE_URL": "", "FALLOWSIDE_SIGN_IN": "true", "FALLOWSIDE_DATA": str(folder)}
    with server([*words, "serve", "--port", str(port)], settings, port):
        said = subprocess.run(
            [*words, "pair"], env={**os.environ, **settings}, capture_output=True, text=True, check=True
        ).stdout
        code = said.split("type this code there:")[1].split()[0]
        client = Client(port)
        client.call("POST", "/api/pair", orjson.dumps({"code": code, "device": "bench"}))
        client.call("POST", "/api/sync", orjson.dumps({"device": "bench", "entries": setups()}))
        yield client


def push(
    client: Client, records: list[dict[str, Any]], cursor: int, *, packed: bool = False
) -> tuple[Timing, int]:
    """Push entries as a phone does, following the cursor, and time it."""
    client.sent = client.received = calls = 0
    started = time.perf_counter()
    for at in range(0, len(records), BATCH):
        sent_at = datetime.now(UTC).isoformat()
        part = records[at : at + BATCH]
        body = orjson.dumps({"device": "bench", "cursor": cursor, "sent_at": sent_at, "entries": part})
        heads = ""
        if packed:
            body = gzip.compress(body, PACKING_LEVEL)
            heads = "Content-Encoding: gzip\r\nAccept-Encoding: gzip\r\n"
        cursor = orjson.loads(client.call("POST", "/api/sync", body, heads))["cursor"]
        calls += 1
    return Timing(time.perf_counter() - started, client.sent, client.received, calls), cursor


def pushed(kind: Any, records: list[dict[str, Any]], *, packed: bool = False) -> tuple[Timing, Timing]:
    """Push to a server of its own, then the same again; see that all of it is there, once."""
    with tempfile.TemporaryDirectory() as folder, kind(Path(folder)) as client:
        before = json.loads(client.call("GET", "/api/health"))["entries"]
        first, cursor = push(client, records, before, packed=packed)
        again, _ = push(client, records, cursor, packed=packed)
        present = json.loads(client.call("GET", "/api/health"))["entries"]
        assert present == len(records) + before, present
    return first, again


@contextlib.contextmanager
def peer() -> Iterator[Path | None]:
    """Fetch the packages of the document stack into a folder of their own; None if they can't be had."""
    with tempfile.TemporaryDirectory() as folder:
        npm = shutil.which("npm")
        wanted = [str(npm), "install", "--no-save", "--no-audit", "--no-fund", *PEER]
        if npm and subprocess.run(wanted, cwd=folder, capture_output=True, check=False).returncode == 0:
            yield Path(folder)
        else:
            yield None


def replicated(packages: Path, records: list[dict[str, Any]]) -> Timing:
    """Replicate the same records between two document stores, one batch as large as a call of ours."""
    node = str(shutil.which("node"))
    with tempfile.TemporaryDirectory() as folder:
        there, here, file = Path(folder) / "server", Path(folder) / "phone", Path(folder) / "records.json"
        there.mkdir()
        here.mkdir()
        file.write_bytes(orjson.dumps(records))
        serving = subprocess.Popen(
            [node, PEER_SCRIPT, "serve", there], cwd=packages, stdout=subprocess.PIPE, text=True
        )
        assert serving.stdout is not None
        url = f"http://127.0.0.1:{serving.stdout.readline().strip()}"
        words: list[str | Path] = [node, PEER_SCRIPT, "push", here, url, file, str(BATCH)]
        done = json.loads(subprocess.run(words, cwd=packages, capture_output=True, check=True).stdout)
        serving.terminate()
        moved = json.loads(serving.stdout.readline())
        serving.wait()
    assert done["written"] == done["stored"] == len(records), done
    return Timing(done["ms"] / 1000, moved["up"], moved["down"], 0)


def measure(repeats: int, peer_repeats: int, count: int, packages: Path | None) -> dict[str, list[Timing]]:
    """Let the servers take turns."""
    records = entries(count)
    found: dict[str, list[Timing]] = {}

    def note(name: str, timing: Timing) -> None:
        found.setdefault(name, []).append(timing)

    for n in range(repeats):
        for name, kind, packed in ((RAW, raw, False), (OURS, ours, False), (f"{OURS}, packed", ours, True)):
            first, again = pushed(kind, records, packed=packed)
            note(name, first)
            if not packed:
                note(f"{name}, all of it again", again)
        if packages is not None and n < peer_repeats:
            note("document replication", replicated(packages, records))
    return found


def report(found: dict[str, list[Timing]], raw_bytes: int) -> None:
    """Print min, median and max of each, its ratio to the raw endpoint's, and its bytes to the raw JSON's."""
    for name, timings in found.items():
        times = [1000 * one.seconds for one in timings]
        against = f"{RAW}, all of it again" if name.endswith("again") else RAW
        base = statistics.median(1000 * one.seconds for one in found[against])
        one = timings[0]
        print(
            f"{name:<28}{min(times):9.1f}{statistics.median(times):9.1f}{max(times):9.1f} ms"
            f"{statistics.median(times) / base:8.2f} x raw"
            f"{(one.sent_bytes + one.received_bytes) / raw_bytes:7.2f} x its bytes"
            + (f"{one.calls:4} calls" if one.calls else "")
        )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--peer-repeats", type=int, default=2)
    parser.add_argument("--entries", type=int, nargs="+", default=[1_000, 10_000])
    chosen = parser.parse_args()
    with peer() as packages:
        if packages is None:
            print("npm could not fetch the document stack (no network?): it is left out", file=sys.stderr)
        for count in chosen.entries:
            raw_bytes = len(orjson.dumps(entries(count)))
            print(f"\n{count:,} entries, {raw_bytes:,} bytes of JSON; min, median and max")
            report(measure(chosen.repeats, chosen.peer_repeats, count, packages), raw_bytes)


if __name__ == "__main__":
    main()
