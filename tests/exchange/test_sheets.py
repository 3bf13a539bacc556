"""Sheets to print say what the plan says, and their codes lead to the station they hang at."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
import segno

from fallowside.core import plan as plans
from fallowside.exchange import sheets

AT = "2026-03-10T08:00:00+00:00"


def entry(kind: str, name: str, **fields: Any) -> dict[str, Any]:
    return {"id": name, "kind": kind, "at": "2026-03-09T08:00:00+00:00", "by": "kit", **fields}


def setup(what: str, item: str, **fields: Any) -> dict[str, Any]:
    return entry("setup", f"set-{item}", what=what, item=item, set=fields)


def log() -> Iterator[dict[str, Any]]:
    yield setup("place", "place", name="Test <place>")
    area = {"value": 0.6, "unit": "m^2"}
    yield setup("station", "trough-1", type="bed", name="Trough & side", order=1, side_area=area)
    yield setup("station", "pond", type="pond", name="Lower pond", order=2)
    yield setup("person", "kit", name="Kit", role="helper")
    hot = {"value": 34.0, "unit": "degC"}
    yield setup("station", "bin", type="bin", name="Larvae bin", order=3)
    weighed = {"value": 7.0, "unit": "g"}
    yield entry("self_harvest", "fifty", station="bin", count=200, fifty_mass=weighed)
    yield entry("reading", "hot", station="trough-1", side="a", temperature=hot)


@pytest.fixture(scope="module")
def plan() -> Any:
    return plans.plan(log(), AT)


def test_each_station_has_a_sticker_whose_code_is_the_link_to_it(plan: Any) -> None:
    written = sheets.page(sheets.stickers(plan, "https://farm.example:8000/"))
    drawn = re.findall(r'<svg[^>]*class="code">.*?</svg>', written, re.DOTALL)
    # The modules as segno draws them: it is checked against ISO/IEC 18004 by its own authors.
    expected = [
        segno.make(f"https://farm.example:8000/#/station/{one}", error="q").svg_inline(
            scale=3, border=4, omitsize=True, dark="#000", light="#fff", svgclass="code"
        )
        for one in ("trough-1", "pond", "bin")
    ]
    assert drawn == expected


@pytest.mark.parametrize("url", ["javascript:alert(1)", "farm.example", "http://", "https://a b", ""])
def test_a_code_never_leads_to_what_is_no_address(plan: Any, url: str) -> None:
    with pytest.raises(sheets.BadAddress):
        sheets.stickers(plan, url)


def test_names_people_gave_are_text_never_markup(plan: Any) -> None:
    for sheet in (sheets.stickers(plan, "http://farm.example"), sheets.handover(plan, ("<b>?</b>",))):
        written = sheets.page(sheet)
        assert "Trough &amp; side" in written
        assert "Test &lt;place&gt;" in written
        assert "<b>" not in written


def test_a_hand_over_shows_what_is_red_who_was_there_and_what_is_open(plan: Any) -> None:
    written = sheets.page(sheets.handover(plan, ("Is the pail too sour?",)))
    warned = next(one for one in plan["stations"] if one["id"] == "trough-1")["warnings"]
    reds = [one for one in warned if one["level"] in ("danger", "caution")]
    assert reds
    assert written.count('<p class="red">') == sum(
        one["level"] in ("danger", "caution") for station in plan["stations"] for one in station["warnings"]
    )
    assert "by Kit" in written
    assert "Is the pail too sour?" in written
    week = (date.fromisoformat(plan["at"][:10]) + timedelta(7)).isoformat()
    due = [[one for one in station["jobs"] if one["due"] <= week] for station in plan["stations"]]
    assert any(due)
    assert any(one["due"] > week for station in plan["stations"] for one in station["jobs"])
    assert written.count('<li><span class="box">') == sum(min(6, len(jobs)) for jobs in due)


def test_a_page_by_itself_carries_its_style_and_no_script(plan: Any) -> None:
    written = sheets.page(sheets.handover(plan))
    assert "<style>" in written
    assert "<script" not in written
    assert "sheet." not in re.sub(r"<style>.*?</style>", "", written, flags=re.DOTALL)


def test_what_may_go_in_is_told_on_paper_to_the_digits_it_is_known_to(plan: Any) -> None:
    written = sheets.page(sheets.handover(plan, ()))
    ration = next(one for one in plan["stations"] if one["id"] == "bin")["ration"]
    assert ration["high"] - ration["low"] > 0.3
    told = re.findall(r"May go in today: ([0-9,.]+) g", written)
    assert told
    assert all(float(one.replace(",", "")) % 100 == 0 for one in told)
