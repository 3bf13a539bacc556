"""What a command was asked, read: its settings, its store, instants, periods and files."""

import sys
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any, BinaryIO

import typer

from fallowside import settings as settings_room
from fallowside import words
from fallowside.core import entries
from fallowside.core.errors import FallowsideError
from fallowside.settings import Settings
from fallowside.store.database import Database
from fallowside.store.errors import Unreachable


class BadArgument(FallowsideError):
    """An argument that can't be used."""

    code = "bad_argument"


def settings(context: typer.Context, data: Path | None, **chosen: object) -> Settings:
    """Read the settings of a command; `chosen` are its other options, None where nothing was chosen."""
    return settings_room.read(data=data or context.obj, **chosen)


@contextmanager
def opened(settings: Settings, *, new: bool = False) -> Iterator[Database]:
    """Open the store for as long as a command needs it.

    Args:
        settings: Where it is.
        new: Whether it is made if there is none, as by commands that write.

    Raises:
        Unreachable: there is none, or it can't be opened.
    """
    database = settings.open_database(new=new)
    try:
        yield database
    finally:
        database.close()


def speaking(language: str) -> AbstractContextManager[None]:
    """Let a command speak a language.

    Raises:
        BadArgument: there are no words in it.
    """
    if language not in words.LANGUAGES:
        raise BadArgument(f"--language {language}: there are {', '.join(words.LANGUAGES)}")
    return words.speaking(language)


def plan(database: Database, at: str) -> Any:
    """Give the plan at an instant."""
    from fallowside.exchange import folded

    return folded.plan_of(database, at)


def now_us() -> int:
    """Give the instant. [microseconds]"""
    from fallowside.api import clock

    return clock.now_us()


def local_now() -> str:
    """Give the instant as this machine's clock writes it."""
    from fallowside.api import clock

    return clock.local_text(now_us())


def instant(text: str | None) -> str:
    """Read an instant; now, if none was given.

    Raises:
        BadArgument: not an instant.
    """
    if text is None:
        return local_now()
    try:
        return entries.moment(text).text
    except ValueError as error:
        raise BadArgument(f"--at: {error}") from error


def period(since: str | None, until: str | None) -> tuple[int | None, int | None]:
    """Read the days of a period. [ordinal]

    Raises:
        BadArgument: not days, or the wrong way round.
    """
    first, last = _day("--from", since), _day("--to", until)
    if first is not None and last is not None and first > last:
        raise BadArgument("--from lies after --to; swap them")
    return first, last


def _day(name: str, text: str | None) -> int | None:
    from fallowside.exchange import folded

    try:
        return None if text is None else folded.day(text)
    except ValueError as error:
        raise BadArgument(f"{name} {error}") from error


@contextmanager
def given(file: str) -> Iterator[BinaryIO]:
    """Open a file that was named; `-` is standard input.

    Raises:
        Unreachable: it can't be read.
    """
    if file == "-":
        yield sys.stdin.buffer
        return
    try:
        with Path(file).open("rb") as source:
            yield source
    except OSError as error:
        raise Unreachable(f"{file} can't be read: {error.strerror}") from error
