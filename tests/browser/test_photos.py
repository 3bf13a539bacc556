"""A photo taken at a bin with no signal: small, without a trace of the camera, sent once there is one."""

import base64
import json
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.places import BED, dumped, fill, until, visit
from tests.browser.server import LiveServer

WIDE, HIGH = 3000, 2000
DRAWN = """([wide, high]) => new Promise(done => {
  const canvas = document.createElement("canvas");
  canvas.width = wide; canvas.height = high;
  const pen = canvas.getContext("2d");
  for (let x = 0; x < wide; x += 8) for (let y = 0; y < high; y += 8) {
    pen.fillStyle = `rgb(${x * 7 % 256} ${y * 5 % 256} ${(x * y) % 256})`;
    pen.fillRect(x, y, 8, 8);
  }
  canvas.toBlob(blob => {
    const reader = new FileReader();
    reader.onload = () => done(reader.result.split(",")[1]);
    reader.readAsDataURL(blob);
  }, "image/jpeg", 0.95);
})"""
SIZE = """async address => {
  const picture = await createImageBitmap(await (await fetch(address)).blob());
  return [picture.width, picture.height];
}"""
ARRIVED = "async address => (await fetch(address)).ok"
WHERE = b"Exif\0\0 51.5 N 3.6 W, taken with a camera"
MOST_BYTES = 300_000


def photo(page: Page) -> bytes:
    """Draw a large picture that is hard to pack, with a camera's notes in it."""
    drawn = base64.b64decode(page.evaluate(DRAWN, [WIDE, HIGH]))
    notes = b"\xff\xe1" + (len(WHERE) + 2).to_bytes(2, "big") + WHERE
    return drawn[:2] + notes + drawn[2:]


def test_a_photo_taken_with_no_signal_arrives_small_and_tells_nothing_of_place_or_camera(
    phone: Page, live_server: LiveServer, tmp_path: Path
) -> None:
    fill(live_server)
    visit(phone, live_server)
    file = tmp_path / "bed.jpg"
    file.write_bytes(photo(phone))
    assert file.stat().st_size > MOST_BYTES
    live_server.stop()
    phone.goto(f"{live_server.url}/#/station/{BED}/record/signs")
    phone.get_by_role("button", name="Mould").click()
    phone.locator("input[type=file]").set_input_files(file)
    expect(phone.get_by_role("img", name="Photo 1 of 1")).to_be_visible()
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_text("Saved on this phone")).to_be_visible()
    live_server.start()
    phone.reload()
    expect(phone.get_by_text("All sent").first).to_be_visible(timeout=60_000)
    signs = [one for one in dumped(live_server) if one["kind"] == "signs"]
    [name] = signs[-1]["photos"]
    until(phone, ARRIVED, f"/api/photos/{name}")
    answer = phone.request.get(f"{live_server.url}/api/photos/{name}")
    assert answer.headers["content-type"] == "image/jpeg"
    assert len(answer.body()) <= MOST_BYTES
    assert b"Exif" not in answer.body()
    wide, high = phone.evaluate(SIZE, f"/api/photos/{name}")
    assert max(wide, high) <= 1600
    assert abs(wide / high - WIDE / HIGH) < 0.01
    phone.goto(f"{live_server.url}/#/entry/{signs[-1]['id']}")
    expect(phone.get_by_role("img", name="Photo 1 of 1")).to_be_visible()
    assert json.dumps(signs[-1]).count("51.5") == 0
