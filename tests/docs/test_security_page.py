"""The page on security leaves no point out, and every test it names is there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "security.md").read_text(encoding="utf-8")
TESTS = {
    name
    for file in (ROOT / "tests").rglob("test_*.py")
    for name in re.findall(r"^(?:async )?def (test_\w+)", file.read_text(encoding="utf-8"), re.MULTILINE)
}
TOP_TEN = [f"API{number}" for number in range(1, 11)]
_LEVEL_ONE = """
1.2.1 1.2.2 1.2.3 1.2.4 1.2.5 1.3.1 1.3.2 1.5.1 2.1.1 2.2.1 2.2.2 2.3.1 3.2.1 3.2.2 3.3.1 3.4.1 3.4.2
3.5.1 3.5.2 3.5.3 4.1.1 4.4.1 5.2.1 5.2.2 5.3.1 5.3.2 6.1.1 6.2.1 6.2.7 6.3.1 6.3.2 6.4.1 6.4.2 7.2.1 7.2.2
7.2.3 7.2.4 7.4.1 7.4.2 8.1.1 8.2.1 8.2.2 8.3.1 9.1.1 9.2.1 10.4.1 10.4.5 11.3.1 11.3.2 11.4.1 12.1.1 12.2.1
12.2.2 13.4.1 14.2.1 14.3.1 15.1.1 15.2.1 15.3.1
"""
LEVEL_ONE = _LEVEL_ONE.split()
"""OWASP Application Security Verification Standard 5.0, the requirements of level 1; of a run of them its
ends. That 6.3.2 is one of them is from memory."""


def rows(heading: str) -> list[list[str]]:
    """Give the rows of the table under a heading, as cells."""
    section = PAGE.split(f"## {heading}")[1].split("\n## ")[0]
    lines = [line for line in section.splitlines() if line.startswith("|")][2:]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


@pytest.mark.parametrize(
    ("heading", "points"),
    [
        ("Against the OWASP API Security Top 10, 2023", TOP_TEN),
        ("Against the OWASP ASVS 5.0, level 1", LEVEL_ONE),
    ],
)
def test_no_point_is_left_out_and_each_has_a_test_or_nothing_to_test(heading: str, points: list[str]) -> None:
    found = [name for row in rows(heading) for name in re.findall(r"API\d+|\d+\.\d+\.\d+", row[0])]
    assert sorted(found) == sorted(points)
    untested = [row for row in rows(heading) if not re.findall(r"`test_\w+`", row[-1])]
    assert {row[-1] for row in untested} <= {"–"}
    assert all(re.search(r"\bnone\b", row[-2]) or "starts none" in row[-2] for row in untested), untested


def test_every_test_that_is_named_is_there() -> None:
    named = set(re.findall(r"`(test_\w+)`", PAGE))
    assert len(named) > 50
    assert named - TESTS == set()
