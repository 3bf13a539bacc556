"""The server killed without warning in the middle of syncs, on both databases; see `killing.py`."""

import json
import subprocess
import time
from pathlib import Path

import pytest

from fallowside.store import integrity
from fallowside.store.database import at_folder
from tests.browser.server import FALLOWSIDE
from tests.faults.born import BornServer
from tests.faults.killing import kill_again_and_again
from tests.logs import setups
from tests.stores import feed, logged

KILLS = 60
"""In every run; five hundred by command."""
LONGEST_S = 90.0


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_no_acknowledged_entry_is_lost_or_doubled_by_killing_the_server_sixty_times(
    kind: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    url = request.getfixturevalue("cluster").new() if kind == "postgresql" else ""
    found = kill_again_and_again(BornServer(tmp_path / "data", url), KILLS, longest_s=LONGEST_S)
    print(found)
    assert found.faults == ()
    # The test means something only if the server was killed while phones were at it, again and again.
    assert found.kills > KILLS // 4
    assert found.cut_off > found.kills
    assert found.answers > found.kills // 2
    assert found.entries > found.answers


def test_a_load_killed_halfway_is_finished_by_loading_again(tmp_path: Path) -> None:
    file = tmp_path / "entries.jsonl"
    entries = [*setups(), *map(feed, range(10_000))]
    file.write_text("".join(json.dumps(one) + "\n" for one in entries))
    data = tmp_path / "data"
    for wait_s in (0.8, 1.1, 1.4):
        loading = subprocess.Popen([FALLOWSIDE, "load", file, "--data", data], stdout=subprocess.DEVNULL)
        time.sleep(wait_s)
        loading.kill()
        loading.wait()
    subprocess.run([FALLOWSIDE, "load", file, "--data", data], stdout=subprocess.DEVNULL, check=True)
    database = at_folder(data)
    assert logged(database) == entries
    assert integrity.check(database).sound
    database.close()
