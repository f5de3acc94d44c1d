"""The sheet on paper: A4, numbered, full pages, nothing too small or running off the side."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from demos import proved_demo
from PIL import Image
from sampling import sampled
from test_sheet_page import DATA

from camgen.make.chain import Wish
from camgen.make.files import output_of
from camgen.sheet.page import sheet_html
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


# A page is read at arm's length: nothing is smaller than 9 points, 12 dots of a browser's.
SIZES = """() => {
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), found = {};
    while (walk.nextNode()) {
        const one = walk.currentNode;
        if (one.textContent.trim()) found[one.textContent] =
            parseFloat(getComputedStyle(one.parentElement).fontSize) * 0.75;
    }
    return found;
}"""
WHERE = ".steps td.key, .measure b, .zero .hang"
KEYS = f"""() => [...document.querySelectorAll("{WHERE}")].map((one) => {{
    const style = getComputedStyle(one);
    return [parseFloat(style.fontSize) * 0.75, parseInt(style.fontWeight)];
}})"""


def _filled(paper: bytes, folder: Path) -> list[float]:
    """The share of each page down to its last words or lines, its foot left out."""
    drawer = shutil.which("pdftoppm")
    if drawer is None:
        pytest.skip("nothing on this system draws the pages of a print")
    (folder / "sheet.pdf").write_bytes(paper)
    subprocess.run([drawer, "-r", "30", "-gray", "-png", folder / "sheet.pdf", folder / "page"],
                   check=True)
    shares = []
    for page in sorted(folder.glob("page-*.png")):
        dark = np.asarray(Image.open(page).convert("L")) < 200
        rows = np.nonzero(dark[:int(0.95 * len(dark))].any(axis=1))[0]
        shares.append(float(rows.max()) / len(dark))
    return shares


def test_a_sheet_prints_full_pages_numbered_large_enough_to_be_read(
    sheet: Path, tmp_path: Path
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
        sizes, keys = page.evaluate(SIZES), page.evaluate(KEYS)
        paper = page.pdf(prefer_css_page_size=True)
        page.set_viewport_size({"width": 390, "height": 800})
        narrow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        running.close()
    assert min(sizes.values()) >= 9.0, min(sizes.items(), key=lambda one: one[1])
    assert len(keys) > 12
    assert all(11.0 <= size <= 12.0 for size, _ in keys)
    assert sum(weight >= 700 for _, weight in keys) > 10
    assert len(re.findall(rb"/Type\s*/Page\b", paper)) == 5
    # A4 is 210 by 297 mm (ISO 216), 595 by 842 points.
    boxes = set(re.findall(rb"/MediaBox\s*\[0 0 (\d+)[.\d]* (\d+)", paper))
    assert boxes
    assert boxes <= {(b"594", b"841"), (b"595", b"841"), (b"595", b"842"), (b"594", b"842")}
    assert wide <= 0
    assert narrow <= 0
    assert nameless == 0
    assert all(url.startswith(("file:", "data:")) for url in fetched)
    # A sheet ends where it ends; before that no page is more than half empty.
    assert min(_filled(paper, tmp_path)[:-1]) > 0.5


def test_the_foot_of_each_page_tells_job_version_and_page() -> None:
    page = sheet_html(replace(DATA, job='odd "</style> \\ job'), "en")
    (foot,) = re.findall(r"@bottom-left {(.*?)}", page)
    assert "</style>" not in foot
    assert foot.count('"') == 2
    told = re.sub(r"\\([0-9A-F]+) ", lambda one: chr(int(one[1], 16)), foot.split('"')[1])
    assert told.startswith('odd "</style> \\ job · ')
    assert DATA.version in told
    assert 'counter(page) " / " counter(pages)' in page
