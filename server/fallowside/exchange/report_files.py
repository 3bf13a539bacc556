"""Reports as files: which kind is asked for by the end of the name, and written whole or not at all."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from fallowside.core.errors import FallowsideError
from fallowside.exchange import pages, reports, spreadsheets
from fallowside.exchange.report_tables import Report
from fallowside.store.database import Database

Write = Callable[[Database, str, int | None, int | None], bytes]
"""From a database, an instant and the ends of a period to the content of a file."""


class UnknownKind(FallowsideError):
    """A file whose name says of no kind that is known."""

    code = "unknown_kind"


class NotWritten(FallowsideError):
    """A file that could not be written."""

    code = "not_written"


_KINDS: Final[Mapping[str, Callable[[Report], bytes]]] = {
    ".csv": lambda report: reports.csv_text(report).encode(),
    ".html": lambda report: pages.page(report).encode(),
    ".xlsx": spreadsheets.xlsx,
}


def writer(file: Path) -> Write:
    """Choose how to write a file by the end of its name.

    Raises:
        UnknownKind: no report is written so.
    """
    kind = _KINDS.get(file.suffix.lower())
    if kind is None:
        ends = ", ".join(sorted(_KINDS))
        raise UnknownKind(f"a report ends in one of {ends}; {file.name!r} does not")
    return lambda database, at, since, until: kind(reports.report_of(database, at, since, until))


def save(file: Path, content: bytes) -> None:
    """Write a file beside its place, then move it there.

    Raises:
        NotWritten: the place can't be written to.
    """
    beside = file.with_name(f".{file.name}.part")
    try:
        beside.write_bytes(content)
        beside.replace(file)
    except OSError as error:
        with suppress(OSError):
            beside.unlink()
        raise NotWritten(f"{file} can't be written: {error.strerror}") from error
