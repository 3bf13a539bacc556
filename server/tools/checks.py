"""Runs the checks named on the command line, all of them if none is, and says at the end which failed.

Every check runs, whether or not one before it failed, so that one run shows all there is to mend.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WEB = ROOT / "web"
PYTHON = sys.executable

CHECKS: dict[str, tuple[Path, list[str]]] = {
    "ruff": (ROOT, [PYTHON, "-m", "ruff", "check", "."]),
    "format": (ROOT, [PYTHON, "-m", "ruff", "format", "--check", "."]),
    "types": (ROOT, [PYTHON, "-m", "mypy"]),
    "arrows": (ROOT, [str(Path(PYTHON).with_name("lint-imports"))]),
    "web-types": (WEB, ["npm", "run", "--silent", "types"]),
    "web-lint": (WEB, ["npm", "run", "--silent", "lint"]),
    "python": (
        ROOT,
        [
            PYTHON,
            "-m",
            "pytest",
            "--durations=12",
            "--continue-on-collection-errors",
            "--ignore=tests/browser",
        ],
    ),
    "web": (WEB, ["npm", "test", "--silent"]),
    "browser": (ROOT, [PYTHON, "-m", "pytest", "--durations=5", "tests/browser"]),
}


def main(names: list[str]) -> int:
    """Run the checks; give 1 if any failed, 2 if one is not known."""
    if unknown := [name for name in names if name not in CHECKS]:
        print(f"no check is called {unknown[0]}; use some of: {', '.join(CHECKS)}", file=sys.stderr)
        return 2
    # Where the machine has no recent Node, it came with the environment.
    environment = os.environ | {"PATH": f"{Path(PYTHON).parent}{os.pathsep}{os.environ['PATH']}"}
    results = {name: run(name, environment) for name in names or CHECKS}
    print("\n== checks")
    for name, (passed, seconds) in results.items():
        print(f"{'passed' if passed else 'FAILED'}  {name}  {seconds:.1f} s")
    return 0 if all(passed for passed, _ in results.values()) else 1


def run(name: str, environment: dict[str, str]) -> tuple[bool, float]:
    """Run one check in its folder; give whether it passed, and the seconds it took."""
    folder, command = CHECKS[name]
    print(f"\n== {name}", flush=True)
    start = time.monotonic()
    code = subprocess.run(command, cwd=folder, env=environment, check=False).returncode
    return code == 0, time.monotonic() - start


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
