"""Runs the checks named on the command line, all of them if none is, and says at the end which failed.

Every check runs, whether or not one before it failed, so that one run shows all there is to mend. As many run
beside each other as there are processors; what one prints is kept together, and printed whole when it ends.
"""

import os
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor, as_completed
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
WEB = ROOT / "web"
PYTHON = sys.executable
# Two at once, of each kind: a page waits much of its time for its server, and a test for its page, for a
# process that was killed, or for packages.
PYTEST = [PYTHON, "-m", "pytest", "-n", "2", "--dist", "worksteal", "--durations=12"]

CHECKS: dict[str, tuple[Path, list[str]]] = {
    # The longest first, so that none of them is left to run alone in the end.
    "browser": (ROOT, [*PYTEST, "tests/browser"]),
    "python": (ROOT, [*PYTEST, "--continue-on-collection-errors", "--ignore=tests/browser"]),
    "web": (WEB, ["npm", "test", "--silent"]),
    "types": (ROOT, [PYTHON, "-m", "mypy"]),
    "arrows": (ROOT, [str(Path(PYTHON).with_name("lint-imports"))]),
    "web-types": (WEB, ["npm", "run", "--silent", "types"]),
    "web-lint": (WEB, ["npm", "run", "--silent", "lint"]),
    "ruff": (ROOT, [PYTHON, "-m", "ruff", "check", "."]),
    "format": (ROOT, [PYTHON, "-m", "ruff", "format", "--check", "."]),
}


class Ended(NamedTuple):
    """How a check ended: the code it gave, the seconds it took, all it printed."""

    code: int
    seconds: float
    said: bytes


def main(names: list[str]) -> int:
    """Run the checks; give 1 if any failed, 2 if one is not known."""
    if unknown := [name for name in names if name not in CHECKS]:
        print(f"no check is called {unknown[0]}; use some of: {', '.join(CHECKS)}", file=sys.stderr)
        return 2
    # Where the machine has no recent Node, it came with the environment.
    environment = os.environ | {"PATH": f"{Path(PYTHON).parent}{os.pathsep}{os.environ['PATH']}"}
    ended: dict[str, Ended] = {}
    with ThreadPoolExecutor(os.cpu_count()) as side_by_side:
        running = {side_by_side.submit(run, name, environment): name for name in names or CHECKS}
        for done in as_completed(running):
            name = running[done]
            ended[name] = done.result()
            print(f"\n== {name}", flush=True)
            sys.stdout.buffer.write(ended[name].said)
            sys.stdout.flush()
    print("\n== checks")
    for name in names or CHECKS:
        print(f"{'passed' if ended[name].code == 0 else 'FAILED'}  {name}  {ended[name].seconds:.1f} s")
    return 1 if any(one.code for one in ended.values()) else 0


def run(name: str, environment: dict[str, str]) -> Ended:
    """Run one check in its folder."""
    folder, command = CHECKS[name]
    print(f"== {name} has begun", flush=True)
    start = time.monotonic()
    done = subprocess.run(
        command, cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False
    )
    return Ended(done.returncode, time.monotonic() - start, done.stdout)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
