"""What is installed is pinned and checked, from whichever registry a machine is set up to use."""

import json
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PYTHON_LOCKS = ["requirements.lock", "requirements-dev.lock", "node.lock"]


@pytest.mark.parametrize("name", PYTHON_LOCKS)
def test_a_python_lock_pins_and_hashes_every_package_and_names_no_place(name: str) -> None:
    text = (ROOT / "server" / name).read_text(encoding="utf-8")
    assert not re.search(r"://|^-|\sfile:|@ ", text, re.MULTILINE)
    blocks = re.split(r"\n(?=\S)", re.sub(r"^#.*\n", "", text, flags=re.MULTILINE).strip())
    assert blocks
    for block in blocks:
        assert re.match(r"[a-z0-9._-]+==\S+( ;.*)? \\\n( +--hash=sha256:[0-9a-f]{64}( \\\n|$))+$", block), (
            block
        )


def test_what_runs_is_what_was_tested() -> None:
    pins = [
        set(re.findall(r"^\S+==\S+", (ROOT / "server" / name).read_text(), re.MULTILINE))
        for name in PYTHON_LOCKS
    ]
    assert pins[0] < pins[1]


def test_the_web_lock_hashes_every_package_and_names_no_registry() -> None:
    lock = json.loads((ROOT / "web" / "package-lock.json").read_text(encoding="utf-8"))
    packages = {path: entry for path, entry in lock["packages"].items() if path}
    assert packages
    assert [
        path for path, entry in packages.items() if not entry.get("integrity") or "resolved" in entry
    ] == []


def test_the_web_packages_are_pinned_exactly() -> None:
    package = json.loads((ROOT / "web" / "package.json").read_text(encoding="utf-8"))
    wanted = package["dependencies"] | package["devDependencies"]
    assert [name for name, version in wanted.items() if not re.fullmatch(r"\d+\.\d+\.\d+", version)] == []
