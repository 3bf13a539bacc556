"""What the README says to do when something is lost, done: its very commands, typed into a shell."""

import json
import re
import shlex
import subprocess
from datetime import date
from http.cookiejar import CookieJar
from pathlib import Path
from ssl import create_default_context
from typing import Any
from urllib.error import HTTPError
from urllib.request import HTTPCookieProcessor, HTTPSHandler, Request, build_opener

import pytest

from tests.api.test_photos import JPEG, name
from tests.browser.server import FALLOWSIDE, LiveServer
from tests.docs.test_docs import README
from tests.logs import AT, setups
from tests.simulators.virtual_phone import Disk
from tests.stores import feed

SIGN_IN = {"FALLOWSIDE_SIGN_IN": "true"}


def steps(begins: str) -> list[str]:
    """Give the commands of the README's first block after some words."""
    section = README[README.index("## When something is lost") :]
    block = re.search(r"```sh\n(.*?)```", section[section.index(begins) :], re.DOTALL)
    assert block is not None
    return block[1].splitlines()


def typed(server: LiveServer, line: str, **words: str) -> str:
    """Type a line of the README, its capitals replaced, where a server's data lies; give what it prints."""
    for capitals, word in words.items():
        line = re.sub(rf"\b{capitals}\b", shlex.quote(word), line)
    done = subprocess.run(
        line,
        shell=True,
        cwd=server.data.parent,
        env=server.environment | {"PATH": f"{FALLOWSIDE.parent}:/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


class Phone:
    """A phone with all it has stored, paired by what a host reads out."""

    def __init__(self, device: str, server: LiveServer) -> None:
        self.device, self.disk = device, Disk()
        self.jar = CookieJar()
        self.reach(server)

    def reach(self, server: LiveServer) -> None:
        """Call this server from now on."""
        self.url = server.url
        trusted = create_default_context(cafile=server.authority if server.url.startswith("https") else None)
        self.opener = build_opener(HTTPCookieProcessor(self.jar), HTTPSHandler(context=trusted))

    def call(self, method: str, path: str, body: bytes) -> Any:
        """Call the server; give its answer, or the status of a refusal."""
        headers = {"Content-Type": "application/json"}
        try:
            with self.opener.open(
                Request(self.url + path, body, headers, method=method), timeout=60
            ) as answer:
                return json.load(answer)
        except HTTPError as refusal:
            return refusal.code

    def pair(self, said: str) -> None:
        """Let it in by what `pair` printed."""
        sent = {"code": said.split("type this code there:")[1].split()[0], "device": self.device}
        assert isinstance(self.call("POST", "/api/pair", json.dumps(sent).encode()), dict)

    def sync(self) -> Any:
        """Send and fetch until there is no more of either."""
        while True:
            mark, rows = self.disk.mark, self.disk.unsent(1000)
            sent = {"device": self.device, "cursor": mark.cursor, "entries": [one for _, one in rows]}
            heard = self.call("POST", "/api/sync", json.dumps({**sent, "log": mark.log}).encode())
            if isinstance(heard, int):
                return heard
            self.disk.settle(rows, heard)
            if not heard["more"] and not self.disk.unsent(1):
                return heard


@pytest.fixture
def server(tmp_path: Path) -> Any:
    made = LiveServer(tmp_path / "old", **SIGN_IN, FALLOWSIDE_BACKUP_DIR=str(tmp_path / "safe"))
    made.data.mkdir(parents=True)
    typed(made, "fallowside load FILE", FILE=str(written(tmp_path, setups())))
    made.start()
    yield made
    made.stop()


def written(folder: Path, entries: list[Any]) -> Path:
    file = folder / "entries.jsonl"
    file.write_text("".join(json.dumps(one) + "\n" for one in entries))
    return file


def test_a_lost_phone_is_shut_out_and_its_person_goes_on_with_another(server: LiveServer) -> None:
    phones, unpair, pair = steps("**A phone.**")
    lost = Phone("lost", server)
    lost.pair(typed(server, pair, NAME="Kit"))
    lost.disk.save(feed(1))
    lost.sync()

    number = re.search(r"^ *(\d+) .*Kit", typed(server, phones), re.MULTILINE)
    assert number is not None
    typed(server, unpair, NUMBER=number[1])
    assert lost.sync() == 401
    new = Phone("new", server)
    new.pair(typed(server, pair, NAME="Kit"))
    new.sync()
    assert new.disk.log() == {one["id"]: one for one in [*setups(), feed(1)]}


def test_a_lost_server_comes_back_on_another_machine_with_all_its_phones_had_sent(
    server: LiveServer, tmp_path: Path
) -> None:
    restore, check, serve, pair = steps("**The server.**")
    phone = Phone("phone", server)
    phone.pair(typed(server, pair))
    phone.disk.save(feed(1))
    phone.sync()
    assert phone.call("PUT", f"/api/photos/{name(JPEG)}", JPEG) == {"stored": True}
    # The day's backup was made when the server started; the next one is of another day.
    (tmp_path / "safe" / f"fallowside-{date.today()}.sqlite3").unlink()
    server.stop()
    server.start()
    phone.disk.save(feed(2))
    phone.sync()
    before = typed(server, "fallowside dump")
    server.kill()

    backup = str(tmp_path / "safe" / f"fallowside-{date.today()}.sqlite3")
    new = LiveServer(tmp_path / "new", *serve.split()[2:], **SIGN_IN)
    new.data.mkdir(parents=True)
    typed(new, restore, FILE=backup)
    typed(new, check)
    assert "feed-2" not in typed(new, "fallowside dump")
    new.start()
    phone.reach(new)
    assert phone.sync() == 401
    phone.pair(typed(new, pair))
    phone.sync()
    after = typed(new, "fallowside dump")
    with phone.opener.open(f"{new.url}/api/photos/{name(JPEG)}", timeout=60) as answer:
        assert answer.read() == JPEG
    new.stop()
    assert sorted(after.splitlines()) == sorted(before.splitlines())
    typed(new, check)


def test_the_log_in_plain_text_gives_the_same_plan_in_an_empty_folder(
    server: LiveServer, tmp_path: Path
) -> None:
    dump, load = steps("The same log in plain text")
    typed(server, dump)
    other = LiveServer(tmp_path / "other")
    other.data.mkdir(parents=True)
    (server.data.parent / "log.jsonl").rename(other.data.parent / "log.jsonl")
    typed(other, load)
    plan = f"fallowside plan --json --at {AT}"
    assert json.loads(typed(other, plan)) == json.loads(typed(server, plan))
