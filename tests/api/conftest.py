from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fallowside.api.app import build_app
from fallowside.store.database import Database
from tests.stores import NOW_US, fresh


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    opened = fresh(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def web(tmp_path: Path) -> Path:
    """Give a built web app of a few files."""
    folder = tmp_path / "web"
    (folder / "assets").mkdir(parents=True)
    (folder / "index.html").write_text("<!doctype html><title>App</title>" + " " * 2000)
    (folder / "sw.js").write_text("self.skipWaiting()")
    (folder / "manifest.webmanifest").write_text("{}")
    (folder / "assets" / "app-1a2b.js").write_text("export const n = 1;\n" * 200)
    (folder / "assets" / "worker-3c4d.mjs").write_text("export {}")
    (folder / "assets" / "core-5e6f.wasm").write_bytes(b"\0asm" + bytes(3000))
    (folder / "assets" / "packed-7a8b.js").write_text("long")
    (folder / "assets" / "packed-7a8b.js.br").write_bytes(b"short")
    return folder


@pytest.fixture
def client(database: Database, web: Path) -> TestClient:
    app = build_app(database, web=web, hosts=["garden.example"], now_us=lambda: NOW_US)
    return TestClient(app, base_url="http://localhost", raise_server_exceptions=False)
