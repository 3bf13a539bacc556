"""Serving, as people start it; and what other commands do meanwhile."""

import json
from collections.abc import Iterator
from pathlib import Path
from urllib.request import urlopen

import pytest

from fallowside.api import serving
from tests.browser.server import LiveServer
from tests.cli.conftest import Run
from tests.cli.test_commands import GOOD, fails, jsonl


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveServer]:
    made = LiveServer(tmp_path_factory.mktemp("served"))
    made.start()
    yield made
    made.stop()


def health(server: LiveServer) -> dict[str, object]:
    with urlopen(f"{server.url}/api/health", timeout=5) as answer:
        found: dict[str, object] = json.load(answer)
        return found


def test_a_running_server_says_where_it_is_and_that_it_only_listens_here(server: LiveServer) -> None:
    said = server.log.read_text()
    assert server.url in said
    assert "Only this machine can reach it" in said


def test_what_is_loaded_beside_a_running_server_is_served(server: LiveServer, run: Run) -> None:
    assert run("load", "-", stdin=jsonl(GOOD), env={"FALLOWSIDE_DATA": str(server.data)}).returncode == 0
    assert health(server)["entries"] == len(GOOD)


def test_a_backup_is_taken_but_nothing_restored_while_serving(
    server: LiveServer, run: Run, tmp_path: Path
) -> None:
    here = {"FALLOWSIDE_DATA": str(server.data)}
    run("load", "-", stdin=jsonl(GOOD), env=here)
    assert run("backup", tmp_path / "copy", env=here).returncode == 0
    fails(run("restore", tmp_path / "copy", env=here), "stop it first")
    fails(run("serve", "--port", "0", env=here), "stop it first")
    assert health(server)["entries"] == len(GOOD)


def test_pairing_needs_a_server_that_phones_can_reach(server: LiveServer, run: Run) -> None:
    fails(run("pair"), "no server is running")
    fails(run("pair", env={"FALLOWSIDE_DATA": str(server.data)}), "--home")


def test_a_server_that_was_killed_leaves_the_folder_free(server: LiveServer) -> None:
    assert serving.serving(server.data) is not None
    server.kill()
    assert serving.serving(server.data) is None
    server.start()
    assert serving.serving(server.data) is not None


def test_a_port_in_use_is_said_in_one_line(server: LiveServer, run: Run) -> None:
    fails(run("serve", "--port", str(server.port)), "choose another")


def test_the_plan_served_is_the_plan_printed(server: LiveServer, run: Run) -> None:
    here = {"FALLOWSIDE_DATA": str(server.data)}
    run("load", "-", stdin=jsonl(GOOD), env=here)
    at = "2026-06-15T18:00:00+02:00"
    with urlopen(f"{server.url}/api/plan?at={at.replace('+', '%2B')}", timeout=20) as answer:
        assert answer.read().decode() == run("plan", "--json", "--at", at, env=here).stdout.strip()
