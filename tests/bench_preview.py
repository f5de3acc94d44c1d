"""How fast pictures, pages and sheets are made and shown: ``python tests/bench_preview.py``.

Prints the time of each picture, and of the page of 100 000 moves in the system's browser: from
opening it to the first picture, and each step of dragging the slider back through the program.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from preview_scenes import MILL, blanks, teeth, zigzag
from test_preview_page import BROWSER, QUIET, until
from test_sheet_page import DATA

from camgen.preview.course.flat_course import draw_course
from camgen.preview.page import bench_page
from camgen.preview.scene import Scene
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


RUN = """async lasts => {
    document.getElementById("pace").value = "30";
    document.getElementById("pace").dispatchEvent(new Event("change"));
    const slider = document.getElementById("when");
    slider.value = "30000"; slider.dispatchEvent(new Event("input"));
    document.getElementById("play").click();
    const until = performance.now() + lasts;
    let frames = 0;
    while (performance.now() < until) {
        await new Promise(done => requestAnimationFrame(done)); frames += 1; }
    document.getElementById("play").click();
    return frames;
}"""
PAN = """async steps => {
    const field = document.getElementById("field"), times = [];
    const frame = () => new Promise(done => requestAnimationFrame(done));
    for (let i = 0; i < steps; i += 1) {
        const begun = performance.now();
        field.dispatchEvent(new WheelEvent("wheel", {deltaY: i % 2 ? 40 : -40, clientX: 300,
                                                     clientY: 300}));
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
    for moves in (100_000, 1_000_000):
        file = Path(tempfile.mkdtemp()) / "large.html"
        begun = time.perf_counter()
        file.write_text(bench_page([Scene("large", layout, [zigzag(moves)], cutters, names)], MILL,
                                   "large"), encoding="utf-8")
        told(f"page of {moves} moves, written", time.perf_counter() - begun)
        print(f"{'its size':44} {file.stat().st_size / 1e6:9.2f} MB")
        looked_at(file, sync_playwright)


def looked_at(file: Path, sync_playwright: Any) -> None:
    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=BROWSER, args=list(QUIET))
        page = running.new_page(viewport={"width": 1280, "height": 800})
        begun = time.perf_counter()
        page.goto(file.as_uri())
        until(page, "document.body.dataset.at !== undefined")
        told("the same, opened to the first picture", time.perf_counter() - begun)
        times = page.evaluate(DRAG, 100)
        told("the same, one step of dragging, median", statistics.median(times[1:]) / 1000)
        told("the same, one step of dragging, longest", max(times[1:]) / 1000)
        for loupe in (True, False):
            frames = page.evaluate(RUN, 2000)
            print(f"{'frames a second at 30×, loupe ' + ('on' if loupe else 'off'):44} "
                  f"{frames / 2:9.1f}")
            page.click("#loupe")
        frames = page.evaluate(PAN, 60)
        told("the same, one step of moving it by hand, longest", max(frames) / 1000)
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
