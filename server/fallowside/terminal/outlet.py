"""Where words go: plain text to a pipe, colours and measure to a terminal."""

import os
import sys

from rich.console import Console
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


def aside() -> Console:
    """Give the console for what is said beside it: progress, warnings."""
    return Console(theme=_THEME, highlight=False, stderr=True)


def complain(text: str) -> None:
    """Say one plain line on standard error."""
    line = " ".join(text.split())
    os.write(2, f"fallowside: {line}\n".encode(errors="replace"))
