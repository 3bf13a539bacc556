"""Makes the app's PNG icons from their drawings. Run it with `python -m tests.browser.icons`."""

import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser.conftest import FLAGS

WEB = Path(__file__).parents[2] / "web"
PLAIN, MASKED = WEB / "public" / "icon.svg", WEB / "drawings" / "icon-mask.svg"
ICONS = (
    (PLAIN, 192, "icon-192"),
    (PLAIN, 512, "icon-512"),
    (MASKED, 512, "icon-mask-512"),
    (MASKED, 180, "icon-180"),
)


def main() -> None:
    """Draw every icon at its size, on nothing."""
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page()
        for drawing, size, name in ICONS:
            page.set_viewport_size({"width": size, "height": size})
            svg = drawing.read_text(encoding="utf-8")
            page.set_content(f"<style>body{{margin:0}}svg{{display:block;width:{size}px}}</style>{svg}")
            page.screenshot(path=WEB / "public" / f"{name}.png", omit_background=True)
        browser.close()


if __name__ == "__main__":
    main()
