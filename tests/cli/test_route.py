"""The route command: a line a share with its reason, JSON for machines, or one plain line."""

import json
from pathlib import Path

import pytest

from fallowside.sync.intake import Intake
from tests.cli.conftest import Run
from tests.logs import entry, setups
from tests.stores import feed, fresh, send


@pytest.fixture(autouse=True)
def filled(data: Path) -> None:
    opened = fresh(data)
    can = entry("setup", 1, what="container", item="can", set={"name": "Can"})
    send(Intake(opened), [*setups(), can, *map(feed, range(5))])
    opened.close()


def test_a_bucket_is_shared_out_in_words(run: Run) -> None:
    done = run("route", "vegetable_scraps=0.5 caddy", "fish_heads=2kg")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Freezer" in done.stdout
    assert "Fish heads" in done.stdout
    assert "This is much fish: at most 15 %" in done.stdout
    assert "router." not in done.stdout


def test_the_same_as_json(run: Run) -> None:
    found = json.loads(run("route", "vegetable_scraps=0.5 caddy", "--freezer", "0", "--json").stdout)
    assert [one["material"] for one in found["bucket"]] == ["vegetable_scraps"]
    assert "keep" not in {one["where"] for one in found["shares"]}


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("vegetable_scraps", "write fish_heads=2kg"),
        ("gravel=2kg", "nothing fed here is called 'gravel'"),
        ("fish=1kg", "near it are fish_feed, fish_frames, fish_guts, fish_heads, fish_scraps, smoked_fish"),
        ("bred=1kg", "near it are bread"),
        ("bread=1 tub", "no container is called 'tub'"),
        ("bread=1 can", "nobody has said what the container 'can' holds"),
        ("seaweed=3L", "how much a litre of 'seaweed' weighs"),
        ("bread=2 m", "not in m"),
        ("bread=0kg", "nothing"),
    ],
)
def test_a_bucket_that_cant_be_weighed_is_one_plain_line(run: Run, part: str, said: str) -> None:
    done = run("route", part)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert said in done.stderr
