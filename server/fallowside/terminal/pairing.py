"""A link and a picture of it for a phone, with honest words about what it can do."""

import io
from collections.abc import Sequence

import segno
from rich.console import Console
from rich.text import Text

_NO_SIGN_IN = "This version has no sign-in: whoever reaches this address can read and write the log."
_PLAIN_HTTP = (
    "Over plain http the page works while the server is reached. To be kept on the phone and used without "
    "a signal it must come over https, or from this very machine."
)


def show(console: Console, urls: Sequence[str]) -> None:
    """Draw the code of the first address, and list the others."""
    code = io.StringIO()
    segno.make(urls[0], micro=False).terminal(code, compact=True, border=2)
    console.print(code.getvalue(), soft_wrap=True)
    for url in urls:
        console.print(Text(f"  {url}", "figure"))
    console.print()
    console.print(
        "Point the phone's camera at the code, or type the address. The phone must be in the same network."
    )
    console.print(Text(_PLAIN_HTTP if urls[0].startswith("http:") else "", "note"))
    console.print(Text(_NO_SIGN_IN, "caution"))
