"""The sheet on paper: A4, a cover and a page for each setup, nothing running off the side."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from demos import proved_demo
from sampling import sampled

from camgen.make.chain import Wish
from camgen.make.files import output_of
from camgen.words import languages

pytestmark = pytest.mark.browser
BROWSER = next((found for name in ("chromium", "chromium-browser")
                if (found := shutil.which(name))), None)
JOBS = Path(__file__).resolve().parent.parent / "jobs"


@pytest.fixture(scope="module", params=sampled(languages(), 3))
def sheet(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("sheet") / "sheet.html"
    proved = proved_demo("third-wheel", Wish(language=request.param))
    file.write_bytes(output_of(proved).files["sheet.html"])
    return file


def test_the_third_wheels_sheet_prints_as_a_cover_and_two_pages_for_each_setup(
    sheet: Path
) -> None:
    if BROWSER is None:
        pytest.skip("no browser on this system")
    driver = pytest.importorskip("playwright.sync_api", reason="no driver for the browser")
    with driver.sync_playwright() as play:
        running = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        page = running.new_page()
        fetched: list[str] = []
        page.on("request", lambda request: fetched.append(request.url))
        page.goto(sheet.as_uri())
        wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        nameless = page.evaluate("[...document.images].filter(one => !one.alt).length")
        paper = page.pdf(prefer_css_page_size=True)
        running.close()
    assert len(re.findall(rb"/Type\s*/Page\b", paper)) == 5
    # A4 is 210 by 297 mm (ISO 216), 595 by 842 points.
    boxes = set(re.findall(rb"/MediaBox\s*\[0 0 (\d+)[.\d]* (\d+)", paper))
    assert boxes
    assert boxes <= {(b"594", b"841"), (b"595", b"841"), (b"595", b"842"), (b"594", b"842")}
    assert wide <= 0
    assert nameless == 0
    assert all(url.startswith(("file:", "data:")) for url in fetched)
