"""The core gives the same bytes on every Python it is promised for, however its sets are walked.

The phone's Python and the server's are seldom of one age. Each interpreter from 3.11 to 3.14 that
this machine has is run here, alone with the core and its own standard library.
"""

import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from fallowside.core.plan import plan_json
from fallowside.exchange import demo
from tests.architecture.pythons import FOUND

SERVER = Path(__file__).parents[2] / "server"
AT = "2026-06-15T18:00:00+02:00"
SEEDS = (0, 1)

PLAN = """
import json, sys
sys.path.insert(0, sys.argv[1])
from fallowside.core.plan import plan_json
sys.stdout.buffer.write(plan_json(json.load(sys.stdin.buffer), sys.argv[2]).encode())
"""


@pytest.fixture(scope="module")
def log() -> list[dict[str, object]]:
    return demo.entries(date(2026, 6, 15))


@pytest.fixture(scope="module")
def expected(log: list[dict[str, object]]) -> str:
    return plan_json(log, AT)


def test_the_running_python_is_among_those_tried() -> None:
    assert FOUND[".".join(map(str, sys.version_info[:3]))] == sys.executable


@pytest.mark.parametrize("python", FOUND)
@pytest.mark.parametrize("seed", SEEDS)
def test_the_plan_is_the_same_to_the_byte(
    python: str, seed: int, log: list[dict[str, object]], expected: str
) -> None:
    done = subprocess.run(
        # -P -s -S: neither this folder nor any installed package can be imported.
        [FOUND[python], "-P", "-s", "-S", "-c", PLAN, SERVER, AT],
        input=json.dumps(log).encode(),
        env={"PATH": os.environ["PATH"], "PYTHONHASHSEED": str(seed)},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    assert done.stdout.decode() == expected
