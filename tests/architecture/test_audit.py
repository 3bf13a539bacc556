"""The audit says what it knows, and never that all is well where it could not ask.

Only the two programs that ask the lists are stood in for. npm's report: its documentation, `npm audit`,
"JSON", version 2 of the report; an error of the registry comes as an object with `message` and `error`.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CLEAN = {"auditReportVersion": 2, "vulnerabilities": {}}
WEAK = {
    "auditReportVersion": 2,
    "vulnerabilities": {"left": {"name": "left", "severity": "high", "range": "<1.2.3"}},
}
SHUT = {"message": "405 Method Not Allowed", "statusCode": 405, "error": {"summary": "", "detail": ""}}


def audited(folder: Path, uv: int, npm: object) -> "subprocess.CompletedProcess[str]":
    """Run the audit with a `uv` that exits so and an `npm` that prints this."""
    said = npm if isinstance(npm, str) else json.dumps(npm)
    (folder / "said").write_text(said, encoding="utf-8")
    for name, lines in (("uv", f"exit {uv}"), ("npm", f'cat "{folder}/said"\nexit 1')):
        (folder / name).write_text(f"#!/bin/sh\n{lines}\n", encoding="utf-8")
        (folder / name).chmod(0o755)
    path = f"{folder}{os.pathsep}{os.environ['PATH']}"
    return subprocess.run(
        [sys.executable, ROOT / "server" / "tools" / "audit.py"],
        env={**os.environ, "PATH": path},
        capture_output=True,
        text=True,
        check=False,
    )


def test_where_both_lists_answered_and_know_nothing_all_is_well(tmp_path: Path) -> None:
    done = audited(tmp_path, 0, CLEAN)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.count("no weakness is known") == 2


@pytest.mark.parametrize(
    ("uv", "npm", "unasked"),
    [
        (0, SHUT, "packages of the web app"),
        (0, "", "packages of the web app"),
        (2, CLEAN, "Python packages"),
        (2, SHUT, "Python packages and for packages of the web app"),
    ],
)
def test_a_list_that_could_not_be_asked_is_one_plain_line_and_no_success(
    tmp_path: Path, uv: int, npm: object, unasked: str
) -> None:
    done = audited(tmp_path, uv, npm)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert f"the list for {unasked} could not be asked, so nothing is known of them" in done.stderr


@pytest.mark.parametrize(("uv", "npm"), [(1, CLEAN), (0, WEAK), (1, SHUT), (2, WEAK)])
def test_a_known_weakness_is_told_whatever_the_other_list_says(tmp_path: Path, uv: int, npm: object) -> None:
    done = audited(tmp_path, uv, npm)
    assert done.returncode == 1
    assert "weaknesses are known" in done.stdout
    assert ("left <1.2.3: high" in done.stdout) is (npm is WEAK)
