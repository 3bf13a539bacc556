"""Asks the public lists of known weaknesses about every pinned package, Python's and the web app's.

Exits 1 if one is known, 2 if the lists can't be reached. The only command here that asks somebody
outside; nothing but names and versions of packages is sent.
"""

import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LOCK = ROOT / "server" / "requirements.lock"
UV = Path(sys.executable).with_name("uv")
_PIN = re.compile(r"^[A-Za-z0-9][\w.\[\],-]*==[^\\\n]+", re.MULTILINE)


def pins(lock: str) -> list[str]:
    r"""Give the pinned packages of a lock file.

    >>> pins("a==1 \\\n    --hash=sha256:0\nb==2 ; sys_platform == 'x' \\\n")
    ['a==1', "b==2 ; sys_platform == 'x'"]
    """
    return [found.strip() for found in _PIN.findall(lock)]


def main() -> int:
    """Ask about both, and give the worse of the answers."""
    found = [python(), web()]
    return max(found)


def python() -> int:
    """Ask about the packages of the service."""
    print("== Python packages", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        dependencies = json.dumps(pins(LOCK.read_text(encoding="utf-8")))
        head = '[project]\nname = "audited"\nversion = "0"\nrequires-python = ">=3.11"\n'
        project = f"{head}dependencies = {dependencies}\n"
        (Path(folder) / "pyproject.toml").write_text(project, encoding="utf-8")
        command = [str(UV), "audit", "--preview-features", "audit-command"]
        return subprocess.run(command, cwd=folder, check=False).returncode


def web() -> int:
    """Ask about the packages of the web app that reach a phone."""
    print("== packages of the web app", flush=True)
    command = ["npm", "audit", "--omit", "dev", "--package-lock-only"]
    return subprocess.run(command, cwd=ROOT / "web", check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
