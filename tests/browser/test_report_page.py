"""The page of a report in Chromium: allowed by the content policy, readable by all, one sheet on paper."""

import re
from datetime import date

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.server import LiveServer


def test_a_report_of_a_year_is_one_sheet_and_breaks_no_rule(phone: Page, live_server: LiveServer) -> None:
    live_server.run("demo", "--no-serve")
    said: list[str] = []
    phone.on("console", lambda message: said.append(message.text))
    year = date.today().year
    phone.goto(f"{live_server.url}/api/report.html?from={year}-01-01&to={year}-12-31")
    assert phone.locator("h1").inner_text() == "What never went to landfill"
    assert phone.locator(".headline strong").evaluate("one => getComputedStyle(one).color") != "rgb(0, 0, 0)"
    assert Axe().run(phone).violations_count == 0
    assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert said == []
    for paper in ("A4", "Letter"):
        sheets = re.findall(rb"/Type\s*/Page\b", phone.pdf(format=paper, prefer_css_page_size=False))
        assert len(sheets) == 1
