"""Where words go: plain text to a pipe, colours and measure to a terminal."""

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.text import Text
from rich.theme import Theme

_WIDEST = 92
_THEME = Theme(
    {
        "station": "bold",
        "label": "dim",
        "figure": "bold",
        "note": "dim",
        "caution": "yellow",
        "danger": "bold red",
        "good": "green",
        "late": "yellow",
    }
)


def console() -> Console:
    """Give the console for what was asked for."""
    made = Console(theme=_THEME, highlight=False, soft_wrap=not sys.stdout.isatty())
    made.width = min(made.width, _WIDEST) if sys.stdout.isatty() else _WIDEST
    return made


def say(*parts: str | tuple[str, str]) -> None:
    """Print one paragraph; a part may come with the name of its style."""
    console().print(Text.assemble(*parts))


def complain(text: str) -> None:
    """Say one plain line on standard error."""
    line = " ".join(text.split())
    os.write(2, f"fallowside: {line}\n".encode(errors="replace"))


@contextmanager
def progress(label: str) -> Iterator[Callable[[int, int | None], None]]:
    """Draw a bar on standard error while work lasts, on a terminal only."""
    shown = Console(theme=_THEME, stderr=True)
    if not shown.is_terminal:
        yield lambda done, of: None
        return
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    columns = (TextColumn(label), BarColumn(), TaskProgressColumn())
    with Progress(*columns, console=shown, transient=True) as bar:
        task = bar.add_task(label, total=None)
        yield lambda done, of: bar.update(task, completed=done, total=of)
