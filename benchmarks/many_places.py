"""A thousand places with a million entries in one PostgreSQL, beside its first fifty places alone.

    python -m benchmarks.many_places [--places 1000] [--entries 1000]

The database is a real one, started for this run, commits flushed. Each place is filled through the
service's own intake in calls of a thousand; then, at fifty places and at all of them, the same calls are
timed at places drawn by chance: a sync that brings five entries, one that brings nothing, a whole plan,
and the first call to a place whose application is not kept. What counts is the ratio of the two.
"""

import argparse
import statistics
import time
from collections.abc import Callable, Sequence
from functools import partial
from random import Random

import orjson
from starlette.testclient import TestClient

from benchmarks.sync import BATCH, SEED, entries, setups
from fallowside.api.app import build_app
from fallowside.api.places import Places
from fallowside.exchange import folded
from fallowside.store import database as databases
from fallowside.store.database import Database
from fallowside.sync import call, reply
from fallowside.sync.intake import Intake
from tests import postgres

FEW, TIMED, PLANNED = 50, 40, 5
NOW_US = 1_800_000_000_000_000
AT = "2026-12-01T08:00:00+01:00"
UNDER = "holdings.example"


def name(n: int) -> str:
    return f"place-{n:04}"


def take(intake: Intake, made: Sequence[object], cursor: int) -> bytes:
    """Take a call in from its bytes to the bytes of its answer."""
    sent = orjson.dumps({"device": "bench", "cursor": cursor, "entries": made})
    return reply.written(intake.take(call.read(sent), NOW_US))


def timed(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - began)


def fill(database: Database, places: range, made: Sequence[object]) -> None:
    """Fill places one after the other."""
    for n in places:
        intake = Intake(database.of_place(name(n)))
        take(intake, setups(), 0)
        for at in range(0, len(made), BATCH):
            take(intake, made[at : at + BATCH], 2 + at)


def measure(database: Database, places: int, size: int, drawn: Random, fresh: int) -> dict[str, float]:
    """Time each kind of call at places drawn by chance; give medians. [ms]"""
    found: dict[str, list[float]] = {}

    def note(what: str, work: Callable[[], object]) -> None:
        found.setdefault(what, []).append(timed(work))

    for n, place in enumerate(map(name, drawn.sample(range(places), TIMED))):
        app = Places(database, UNDER, lambda of, host: build_app(of, hosts=[host], sign_in=True))
        client = TestClient(app)
        of = database.of_place(place)
        intake = Intake(of)
        cursor = size + 2
        five = [{**one, "id": f"late-{fresh}-{n}-{i}"} for i, one in enumerate(entries(5))]
        note("sync of five, a place met for the first time", partial(take, intake, five, cursor))
        more = [{**one, "id": f"{one['id']}-more"} for one in five]
        note("sync of five, after that", partial(take, intake, more, cursor + 5))
        note("sync of nothing", partial(take, intake, [], cursor + 10))
        health = partial(client.get, "/api/health", headers={"host": f"{place}.{UNDER}"})
        note("first call to a place", health)
        note("next call to it", health)
        if n < PLANNED:
            note("whole plan", partial(folded.Kept(of).plan_text, AT))
    return {what: statistics.median(times) for what, times in found.items()}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--places", type=int, default=1000)
    parser.add_argument("--entries", type=int, default=1000)
    chosen = parser.parse_args()
    made = list(entries(chosen.entries))
    drawn = Random(SEED)
    with postgres.running(durable=True) as cluster:
        database = databases.at_url(cluster.store())
        fill(database, range(FEW), made)
        few = measure(database, FEW, chosen.entries, drawn, 1)
        began = time.perf_counter()
        fill(database, range(FEW, chosen.places), made)
        filled_s = time.perf_counter() - began
        many = measure(database, chosen.places, chosen.entries, drawn, 2)
        with database.read() as hand:
            count = hand.value("SELECT count(*) FROM entry")
            size = hand.value("SELECT pg_total_relation_size('entry')")
        database.close()
    written = (chosen.places - FEW) * chosen.entries
    print(f"{chosen.places:,} places, {count:,} entries, {size / count:.0f} bytes an entry with its indices")
    print(f"filled by one process: {written / filled_s:,.0f} entries a second")
    print(f"{'median, ms':<48}{FEW:>6} places{chosen.places:>7} places   ratio")
    for what, ms in few.items():
        print(f"{what:<48}{ms:13.1f}{many[what]:14.1f}{many[what] / ms:8.2f}")


if __name__ == "__main__":
    main()
