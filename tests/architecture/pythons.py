"""The interpreters of this machine that Fallowside promises to run on."""

import shutil
import subprocess
import sys
from pathlib import Path

MINORS = range(11, 15)


def interpreters() -> dict[str, str]:
    """Give the interpreters of this machine by version, the running one among them."""
    names = [sys.executable, *(shutil.which(f"python3.{minor}") or "" for minor in MINORS)]
    names += sorted(str(path) for path in (Path.home() / ".pyenv/versions").glob("3.1*/bin/python3"))
    found: dict[str, str] = {}
    for name in names:
        if (said := version(name)) and int(said.split(".")[1]) in MINORS:
            found.setdefault(said, name)
    return found


def version(name: str) -> str:
    """Give the version of an interpreter, or nothing if it does not run."""
    code = "import sys; print('%d.%d.%d' % sys.version_info[:3])"
    try:
        done = subprocess.run([name, "-I", "-S", "-c", code], capture_output=True, text=True, check=False)
    except OSError:
        return ""
    return done.stdout.strip()


FOUND = interpreters()
