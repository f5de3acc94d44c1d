"""How fast pictures, pages and sheets are made and shown: ``python tests/bench_preview.py``.

Prints the time of each picture, and of the page of 100 000 moves in the system's browser: from
opening it to the first picture, and each step of dragging the slider back through the program.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from preview_scenes import MILL, blanks, teeth
from test_preview_page import BROWSER, QUIET, zigzag
from test_sheet_page import DATA

from camgen.preview.course.flat_course import draw_course
from camgen.preview.page import bench_page
from camgen.preview.setup import draw_setup
from camgen.sheet.page import sheet_html

DRAG = """async steps => {
    const slider = document.getElementById("when"), times = [];
    const frame = () => new Promise(done => requestAnimationFrame(done));
    for (let i = 0; i < steps; i += 1) {
        const begun = performance.now();
        slider.value = String(100000 - i * 900); slider.dispatchEvent(new Event("input"));
        await frame(); await frame();
        times.push(performance.now() - begun);
    }
    return times;
}"""


def told(name: str, seconds: float) -> None:
    print(f"{name:44} {seconds * 1000:9.1f} ms")


def timed(name: str, task: object) -> None:
    """The second of two runs: the first also loads the drawing library."""
    assert callable(task)
    task()
    begun = time.perf_counter()
    task()
    told(name, time.perf_counter() - begun)


def in_browser() -> None:
    if BROWSER is None:
        print("no browser on this system")
        return
    from playwright.sync_api import sync_playwright

    layout, _, cutters, names = blanks(3, 2)
    file = Path(tempfile.mkdtemp()) / "large.html"
    begun = time.perf_counter()
    file.write_text(bench_page(layout, [zigzag(100_000)], MILL, cutters, "large", names=names),
                    encoding="utf-8")
    told("page of 100 000 moves, written", time.perf_counter() - begun)
    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=BROWSER, args=list(QUIET))
        page = running.new_page(viewport={"width": 1280, "height": 800})
        begun = time.perf_counter()
        page.goto(file.as_uri())
        page.wait_for_function("document.body.dataset.at !== undefined")
        told("the same, opened to the first picture", time.perf_counter() - begun)
        times = page.evaluate(DRAG, 100)
        told("the same, one step of dragging, median", statistics.median(times[1:]) / 1000)
        told("the same, one step of dragging, longest", max(times[1:]) / 1000)
        running.close()


def main() -> None:
    layout, read, cutters, names = blanks(4, 2)
    timed("picture of eight blanks", lambda: draw_setup(
        layout, [read], MILL, cutters, [], "blanks", names=names))
    timed("course of eight blanks", lambda: draw_course(layout, [read], MILL, cutters, "blanks"))
    for count in (75, 300):
        toothed, cut, discs = teeth(count, 0.14, 10)
        timed(f"picture of {count} teeth", lambda a=toothed, b=cut, c=discs: draw_setup(
            a, [b], MILL, c, [], "teeth"))
    timed("sheet of two setups", lambda: sheet_html(DATA))
    in_browser()


if __name__ == "__main__":
    main()
