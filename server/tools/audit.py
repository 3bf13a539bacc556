"""Asks the public lists of known weaknesses about every pinned package, Python's and the web app's.

Exits 1 if a weakness is known, 2 if a list could not be asked: then nothing is known of its packages, and
the last line says so. The only command here that asks somebody outside; nothing but names and versions
of packages is sent.
"""

import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable
from enum import IntEnum
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
LOCK = ROOT / "server" / "requirements.lock"
_PIN = re.compile(r"^[A-Za-z0-9][\w.\[\],-]*==[^\\\n]+", re.MULTILINE)


class Answer(IntEnum):
    """What a list says; also how the command exits."""

    CLEAN = 0
    UNREACHED = 2
    KNOWN = 1


_WEIGHT = (Answer.CLEAN, Answer.UNREACHED, Answer.KNOWN)
"""What is known weighs more than what could not be asked."""


def pins(lock: str) -> list[str]:
    r"""Give the pinned packages of a lock file.

    >>> pins("a==1 \\\n    --hash=sha256:0\nb==2 ; sys_platform == 'x' \\\n")
    ['a==1', "b==2 ; sys_platform == 'x'"]
    """
    return [found.strip() for found in _PIN.findall(lock)]


def main() -> int:
    """Ask about both; give the gravest answer."""
    lists: tuple[tuple[str, Callable[[], Answer]], ...] = (
        ("Python packages", python),
        ("packages of the web app", web),
    )
    answers = {}
    for name, ask in lists:
        print(f"== {name}", flush=True)
        answers[name] = ask()
        print(_said(answers[name]), flush=True)
    gravest = max(answers.values(), key=_WEIGHT.index)
    unreached = [name for name, answer in answers.items() if answer is Answer.UNREACHED]
    if unreached:
        print(
            f"audit: the list for {' and for '.join(unreached)} could not be asked, so nothing is known of "
            "them; try again where the network lets you out",
            file=sys.stderr,
        )
    return int(gravest)


def _said(answer: Answer) -> str:
    return {
        Answer.CLEAN: "no weakness is known",
        Answer.KNOWN: "weaknesses are known: see above",
        Answer.UNREACHED: "not asked",
    }[answer]


def python() -> Answer:
    """Ask about the packages of the service."""
    with tempfile.TemporaryDirectory() as folder:
        dependencies = json.dumps(pins(LOCK.read_text(encoding="utf-8")))
        head = '[project]\nname = "audited"\nversion = "0"\nrequires-python = ">=3.11"\n'
        project = f"{head}dependencies = {dependencies}\n"
        (Path(folder) / "pyproject.toml").write_text(project, encoding="utf-8")
        command = ["uv", "audit", "--preview-features", "audit-command"]
        code = subprocess.run(command, cwd=folder, check=False).returncode
    return {0: Answer.CLEAN, 1: Answer.KNOWN}.get(code, Answer.UNREACHED)


def web() -> Answer:
    """Ask about the packages of the web app that reach a phone."""
    command = ["npm", "audit", "--json", "--omit", "dev", "--package-lock-only"]
    asked = subprocess.run(command, cwd=ROOT / "web", stdout=subprocess.PIPE, text=True, check=False)
    try:
        report: dict[str, Any] = json.loads(asked.stdout)
        known: dict[str, dict[str, Any]] = report["vulnerabilities"]
    except (ValueError, KeyError):
        # npm exits 1 for both: a weakness, and a list that did not answer.
        return Answer.UNREACHED
    for name, one in sorted(known.items()):
        print(f"{name} {one['range']}: {one['severity']}")
    return Answer.KNOWN if known else Answer.CLEAN


if __name__ == "__main__":
    sys.exit(main())
