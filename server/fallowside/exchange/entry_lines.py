"""Entries as JSON Lines: one entry a line, as `dump` writes and `load` reads them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import BinaryIO

from fallowside.core.entries import Problem
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.store.errors import StoreProblem
from fallowside.sync.call import MOST_ENTRIES, Call
from fallowside.sync.intake import Intake, Outcome

_LONGEST_LINE = 10 * 1024 * 1024


class NoEntries(StoreProblem):
    """A file that can't be read as entries."""

    code = "no_entries"


@dataclass(frozen=True, slots=True)
class HeldLine:
    """A line that was held, and why."""

    line: int
    id: str | None
    problem: Problem


@dataclass(frozen=True, slots=True)
class Loaded:
    """What became of a file. `already` counts accepted entries that were in the log before."""

    accepted: int
    already: int
    held: tuple[HeldLine, ...]


def load(
    database: Database,
    file: BinaryIO,
    now_us: Callable[[], int],
    *,
    device: str = "command-line",
    progress: Callable[[int], None] = lambda done: None,
) -> Loaded:
    """Load entries, a thousand at once; each thousand is on the disk before the next is read.

    A line that is held because of a set-up further down is let in when that comes.

    Args:
        database: Where to.
        file: JSON Lines, read to its end.
        now_us: The clock. [microseconds]
        device: Who brings them, by the store's book.
        progress: Hears how many bytes are done.

    Raises:
        NoEntries: a line beyond all measure; what came before it is loaded.
    """
    intake = Intake(database)
    accepted = already = 0
    held: dict[str, HeldLine] = {}
    done = 0
    for numbers, bodies in _batches(file):
        outcome = intake.take(Call(device, 0, bodies), now_us(), hand_out=False)
        accepted += len(outcome.accepted)
        already += len(outcome.accepted) - outcome.new
        accepted += _note_held(held, numbers, outcome)
        done += sum(map(len, bodies)) + len(bodies)
        progress(done)
    return Loaded(accepted, already, tuple(sorted(held.values(), key=lambda one: one.line)))


def _note_held(held: dict[str, HeldLine], numbers: list[int], outcome: Outcome) -> int:
    """Note what is held, and give how many lines of earlier batches are let in."""
    for one in outcome.held:
        key = f"{one.ref} {numbers[one.index]}"
        held[key] = HeldLine(numbers[one.index], one.id, one.problem)
    let_in = set(outcome.let_in)
    gone = [key for key, one in held.items() if one.id in let_in and one.problem.code != "id_taken"]
    for key in gone:
        del held[key]
    return len(gone)


def dump(database: Database, file: BinaryIO) -> int:
    """Write all entries of the log in order, and give their number."""
    count = 0
    for line in log.lines(database):
        # In JSON a line break can only stand between words, where a space says the same.
        file.write(line.body.replace(b"\n", b" ").replace(b"\r", b" ") + b"\n")
        count += 1
    return count


def _batches(file: BinaryIO) -> Iterator[tuple[list[int], list[bytes]]]:
    numbers: list[int] = []
    bodies: list[bytes] = []
    for number, line in enumerate(_lines(file), start=1):
        body = line.strip()
        if not body:
            continue
        numbers.append(number)
        bodies.append(body)
        if len(bodies) == MOST_ENTRIES:
            yield numbers, bodies
            numbers, bodies = [], []
    if bodies:
        yield numbers, bodies


def _lines(file: BinaryIO) -> Iterator[bytes]:
    number = 0
    while line := file.readline(_LONGEST_LINE + 1):
        number += 1
        if len(line) > _LONGEST_LINE:
            raise NoEntries(
                f"line {number} is longer than {_LONGEST_LINE // 1024 // 1024} MiB: "
                "this is no file of entries; the lines before it are loaded"
            )
        yield line
