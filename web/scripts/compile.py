"""Compiles what the phone's worker runs, inside the interpreter that will run it.

Given is `/sources`, the core and the worker's own Python. Made are `/core.zip`, all of `/sources`, and
`/standard.zip`, so much of the standard library as unpacking and importing that loads.
"""

import importlib
import importlib.util
import marshal
import shutil
import sys
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

SOURCES = Path("/sources")
STANDARD = next(place for place in sys.path if place.endswith(".zip"))
UNCHECKED = (1).to_bytes(4, "little") + bytes(8)
"""Flags and hash of a compiled file that is never held against its source."""


def write(archive: ZipFile, name: str, content: bytes, home: str) -> None:
    """Add a file, compiled if it is Python; with one date for all, so that the same gives the same."""
    if name.endswith(".py"):
        code = compile(content, f"{home}/{name}", "exec", dont_inherit=True)
        name, content = f"{name}c", importlib.util.MAGIC_NUMBER + UNCHECKED + marshal.dumps(code)
    archive.writestr(ZipInfo(name), content, ZIP_DEFLATED, 9)


def main() -> None:
    """Write both archives."""
    with ZipFile("/core.zip", "w") as archive:
        for path in sorted(SOURCES.rglob("*")):
            if path.is_file():
                write(archive, str(path.relative_to(SOURCES)), path.read_bytes(), "")

    # As the worker does it, so that all it loads on the way is seen.
    shutil.unpack_archive("/core.zip", "/core")
    sys.path.insert(0, "/core")
    importlib.import_module("fold")
    files = [getattr(module, "__file__", None) or "" for module in list(sys.modules.values())]
    used = {file.removeprefix(f"{STANDARD}/") for file in files if file.startswith(STANDARD)}
    with ZipFile(STANDARD) as standard, ZipFile("/standard.zip", "w") as archive:
        for name in sorted(used):
            write(archive, name, standard.read(name), STANDARD)


main()
