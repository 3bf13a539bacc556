"""Commands of ours, each as a process of its own that starts in a moment.

A process that has imported everything forks one as often as it is asked: Python's own "forkserver". The
child runs the real command line from its first line on. To import all of it anew each time takes a second
of a processor, and a run of the tests starts hundreds.
"""

import multiprocessing
import os
import sys
import tempfile
from collections.abc import Iterable, Mapping
from multiprocessing.process import BaseProcess
from pathlib import Path

_FORKS = multiprocessing.get_context("forkserver")
_FORKS.set_forkserver_preload(["tests.preloaded"])


def begin(words: Iterable[str | Path], environment: Mapping[str, str], said: Path) -> BaseProcess:
    """Start `fallowside` with such words; what it says is appended to a file."""
    process = _FORKS.Process(
        target=_become, args=(list(map(str, words)), dict(environment), os.devnull, said), daemon=True
    )
    process.start()
    return process


def run(words: Iterable[str | Path], environment: Mapping[str, str], given: str = "") -> str:
    """Run `fallowside` with such words to its end, which must be a good one; give what it prints."""
    with tempfile.TemporaryDirectory() as folder:
        read, said, failed = (Path(folder) / name for name in ("given", "said", "failed"))
        read.write_text(given, encoding="utf-8")
        process = _FORKS.Process(
            target=_become, args=(list(map(str, words)), dict(environment), read, said, failed), daemon=True
        )
        process.start()
        process.join()
        assert process.exitcode == 0, failed.read_text(encoding="utf-8")
        return said.read_text(encoding="utf-8")


def _become(
    words: list[str],
    environment: dict[str, str],
    given: str | Path,
    said: Path,
    failed: Path | None = None,
) -> None:
    """Be the command, in the child."""
    from fallowside import cli

    os.environ.clear()
    os.environ.update(environment)
    written = os.O_WRONLY | os.O_CREAT | os.O_APPEND
    os.dup2(os.open(given, os.O_RDONLY), 0)
    os.dup2(os.open(said, written), 1)
    os.dup2(os.open(failed, written) if failed else 1, 2)
    # The one that came along reads nothing: children of this kind are given no input.
    sys.stdin = open(0, encoding="utf-8")  # noqa: SIM115
    sys.argv = ["fallowside", *words]
    cli.main()
