"""A real nginx on loopback, with the configuration that docs/on_phones.md tells people to use."""

import re
import socket
import subprocess
import textwrap
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fallowside.access import authority
from tests.browser.server import LiveServer
from tests.ports import free_port

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "on_phones.md"
NAME = "garden.home.arpa"
"""Stands for the domain of whoever follows the page; one the local authority may vouch for."""
START_S = 20.0
MAIN = """
daemon off;
master_process off;
pid {folder}/nginx.pid;
error_log {folder}/error.log;
events {{ worker_connections 256; }}
http {{
    # As in Debian's own nginx.conf.
    sendfile on;
    tcp_nopush on;
    types_hash_max_size 2048;
    default_type application/octet-stream;
    ssl_protocols TLSv1 TLSv1.1 TLSv1.2 TLSv1.3;
    ssl_prefer_server_ciphers on;
    gzip on;
    access_log {folder}/access.log;
    {folders}
    include {folder}/sites-enabled/*;
}}
"""
FOLDERS = ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")


@dataclass(frozen=True)
class Proxy:
    """A running nginx before a running server.

    Attributes:
        server: What it hands calls on to.
        folder: Its files and logs.
        plain: The port for http.
        port: The port for https.
        trusted: The certificate of the authority behind its own.
    """

    server: LiveServer
    folder: Path
    plain: int
    port: int
    trusted: Path

    def logged(self) -> str:
        """Give all that it has written down."""
        return "".join(file.read_text(encoding="utf-8") for file in self.folder.glob("*.log"))


def documented() -> str:
    """Give the configuration as the page has it."""
    found = re.search(r"sites-available/fallowside`:\n\n((?:    .*\n|\n)+)", PAGE.read_text(encoding="utf-8"))
    assert found, "the page shows no configuration"
    return textwrap.dedent(found[1])


def filled_in(text: str, values: dict[str, str]) -> str:
    """Put in what whoever follows the page puts in; each of it must be there."""
    for wanted, given in values.items():
        assert wanted in text, f"the page doesn't say {wanted!r} any more"
        text = text.replace(wanted, given)
    return text


@contextmanager
def running(folder: Path) -> Iterator[Proxy]:
    """Run a server behind an nginx until the block ends."""
    found = subprocess.run(
        ["sh", ROOT / "server" / "tools" / "nginx.sh"], stdout=subprocess.PIPE, text=True, check=False
    )
    if found.returncode != 0:
        pytest.fail("the tests need nginx; what to type stands above")
    server = LiveServer(folder, "--behind-proxy", NAME)
    made = authority.certificate(folder / "certificates", [NAME], datetime.now(UTC))
    plain, port = free_port(), free_port()
    site = filled_in(
        documented(),
        {
            "garden.example": NAME,
            "listen 80;": f"listen 127.0.0.1:{plain};",
            "listen [::]:80;": "",
            "listen 443 ssl http2;": f"listen 127.0.0.1:{port} ssl http2;",
            "listen [::]:443 ssl http2;": "",
            f"/etc/letsencrypt/live/{NAME}/fullchain.pem": str(made.certificate),
            f"/etc/letsencrypt/live/{NAME}/privkey.pem": str(made.key),
            "http://127.0.0.1:8000": f"http://127.0.0.1:{server.port}",
        },
    )
    home = folder / "nginx"
    (home / "sites-enabled").mkdir(parents=True)
    (home / "sites-enabled" / "fallowside").write_text(site, encoding="utf-8")
    folders = "\n    ".join(f"{name}_temp_path {home}/{name};" for name in FOLDERS)
    (home / "nginx.conf").write_text(MAIN.format(folder=home, folders=folders), encoding="utf-8")
    server.start()
    command = [
        found.stdout.strip(),
        "-p",
        str(home),
        "-c",
        str(home / "nginx.conf"),
        "-e",
        f"{home}/error.log",
    ]
    with (home / "said.log").open("wb") as said:
        process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=said, stderr=said)
    proxy = Proxy(server, home, plain, port, made.authority)
    try:
        _wait(process, proxy)
        yield proxy
    finally:
        process.terminate()
        process.wait(timeout=START_S)
        server.stop()


def _wait(process: "subprocess.Popen[bytes]", proxy: Proxy) -> None:
    deadline = time.monotonic() + START_S
    while process.poll() is None and time.monotonic() < deadline:
        try:
            socket.create_connection(("127.0.0.1", proxy.port), timeout=1.0).close()
        except OSError:
            time.sleep(0.05)
        else:
            return
    pytest.fail(f"nginx did not start with the documented configuration: {proxy.logged()}")
