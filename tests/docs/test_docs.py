"""The documents name what is there (rooms, kinds of entry, settings, commands), and their links hold."""

import re
from pathlib import Path
from typing import Any

import pytest
import typer

from fallowside import cli
from fallowside.core import entries
from fallowside.settings import Settings

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "server" / "fallowside"
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
COMMANDS: dict[str, Any] = vars(typer.main.get_command(cli.app))["commands"]
EVERYWHERE = {"data"}
"""Options every command takes; said once."""


def rows(page: str) -> dict[str, str]:
    """Give the rows of a page's tables by the first word in their first cell's code."""
    found = re.findall(r"^\| `(?:fallowside )?([^` =]+)[^|]*\|.*$", page, re.MULTILINE)
    lines = re.findall(r"^\| `.*$", page, re.MULTILINE)
    return dict(zip(found, lines, strict=True))


@pytest.mark.parametrize("module", sorted(path.name for path in (PACKAGE / "core").rglob("[!_]*.py")))
def test_every_module_of_the_core_is_named_for_developers(module: str) -> None:
    assert f"`{module}`" in DEVELOPERS


@pytest.mark.parametrize("room", sorted(path.parent.name for path in PACKAGE.glob("*/__init__.py")), ids=str)
def test_every_room_of_the_server_is_named_for_developers(room: str) -> None:
    assert f"`server/fallowside/{room}/`" in DEVELOPERS


@pytest.mark.parametrize("kind", sorted(entries.spec()["kinds"]))
def test_every_kind_of_entry_is_described(kind: str) -> None:
    says = rows(DEVELOPERS)[kind].split("|")[2]
    assert len(says.split()) >= 3


@pytest.mark.parametrize("name", sorted(Settings.model_fields))
def test_every_setting_stands_in_the_readme_with_its_description(name: str) -> None:
    described = Settings.model_fields[name].description
    assert described
    assert described in rows(README)[f"FALLOWSIDE_{name.upper()}"]


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_stands_in_the_readme_with_its_options_and_help(name: str) -> None:
    usage, said = rows(README)[name].split("|")[1:3]
    assert said.split() == COMMANDS[name].help.split()
    for parameter in COMMANDS[name].params:
        shown = parameter.opts[0] if parameter.opts[0].startswith("--") else parameter.metavar
        assert shown in usage or parameter.name in EVERYWHERE


def test_the_readme_names_no_command_that_is_not_there() -> None:
    named = set(re.findall(r"fallowside (?:--data \S+ )?([a-z]+)\b", README)) - {"the"}
    assert named <= set(COMMANDS)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_between_pages_lead_somewhere(page: Path) -> None:
    links = re.findall(r"\]\(([^)#]+)[^)]*\)", page.read_text(encoding="utf-8"))
    missing = [link for link in links if "://" not in link and not (page.parent / link).exists()]
    assert missing == []


def test_decisions_are_numbered_without_gaps() -> None:
    pages = sorted((ROOT / "docs" / "decisions").glob("*.md"))
    titles = [page.read_text(encoding="utf-8").splitlines()[0] for page in pages]
    assert [page.name[:3] for page in pages] == [f"{number:03d}" for number in range(1, len(pages) + 1)]
    assert [title[:6] for title in titles] == [f"# {page.name[:3]} " for page in pages]
