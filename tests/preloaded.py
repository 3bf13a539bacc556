"""What a process that is to fork commands of ours imports first; see `commands.py`."""

import tempfile
from importlib import import_module
from pathlib import Path

from fallowside import settings
from fallowside.api.app import build_app

for name in ("fallowside.api.serving", "uvloop", "uvicorn.protocols.http.auto", "psycopg"):
    import_module(name)
with tempfile.TemporaryDirectory() as folder:
    # What an application makes once in a process, it has made before the first child.
    database = settings.read(data=Path(folder), database_url="").open_database()
    build_app(database)
    database.close()
