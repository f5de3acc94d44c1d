"""The page for the bench, in a real browser: opens, steps, draws large programs, fetches nothing.

The browser is the system's own; where there is none these tests are left out.
"""

from __future__ import annotations

import math
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from preview_scenes import MILL, blanks, teeth, zigzag

from camgen.preview.page import Verdict, bench_page
from camgen.preview.scene import Scene
from camgen.reader import read_program
from camgen.reader.motion import Event, ReadProgram
from camgen.shop.cutters import parse_cutter

pytestmark = pytest.mark.browser
BROWSER = next((found for name in ("chromium", "chromium-browser")
                if (found := shutil.which(name))), None)
QUIET = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    if BROWSER is None:
        pytest.skip("no browser on this system")
    driver = pytest.importorskip("playwright.sync_api", reason="no driver for the browser")
    with driver.sync_playwright() as play:
        running = play.chromium.launch(executable_path=BROWSER, args=list(QUIET))
        yield running
        running.close()


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Any]:
    """Opens a page's text; at the end nothing may have been complained of or fetched."""
    pages = []
    complaints: list[str] = []
    fetched: list[str] = []

    def show(content: str, **wishes: Any) -> Any:
        file = tmp_path / f"page{len(pages)}.html"
        file.write_text(content, encoding="utf-8")
        page = browser.new_page(**wishes)
        page.on("console", lambda said: complaints.append(said.text)
                if said.type in ("error", "warning") else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("request", lambda request: fetched.append(request.url))
        page.goto(file.as_uri())
        until(page, "document.body.dataset.at !== undefined")
        pages.append((page, file))
        return page

    yield show
    for page, _ in pages:
        page.close()
    assert complaints == []
    assert fetched == [file.as_uri() for _, file in pages]


def until(page: Any, true: str) -> None:
    """Waits for what is asked from outside: the page's own policy lets nothing be evaluated in it.
    """
    for _ in range(1000):
        if page.evaluate(true):
            return
        page.wait_for_timeout(20)
    raise AssertionError(true)


@contextmanager
def drawn_anew(page: Any) -> Iterator[None]:
    """What is moved by hand is drawn anew when the hand rests: waits for that."""
    before = page.evaluate("document.body.dataset.drawn")
    yield
    until(page, f"document.body.dataset.drawn !== '{before}'")
    settle(page)


def shown(layout: Any, programs: list[ReadProgram], machine: Any, cutters: Any, title: str,
          names: dict[int, str] | None = None) -> str:
    """The page of one setup."""
    return bench_page([Scene(title, layout, programs, cutters, names or {})], machine, title)


def slide(page: Any, share: float) -> None:
    """Moves the slider as a hand does."""
    page.evaluate("""value => { const slider = document.getElementById("when");
        slider.value = value; slider.dispatchEvent(new Event("input")); }""",
                  str(round(share * 100_000)))
    settle(page)


def settle(page: Any) -> None:
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => "
                  "requestAnimationFrame(done)))")


def place(page: Any) -> list[float]:
    return [float(word) for word in page.evaluate("document.body.dataset.at").split()]


def test_slider_to_the_end_brings_the_cutter_to_the_last_point(opened: Any) -> None:
    layout, read, cutters, names = blanks(2, 1)
    page = opened(shown(layout, [read], MILL, cutters, "blanks", names=names))
    assert page.inner_text("#text .now").startswith("block")
    slide(page, 1.0)
    assert place(page) == pytest.approx(read.motion.end[-1].tolist(), abs=5e-4)
    assert page.inner_text("#text .now") == read.lines[read.motion.line[-1] - 1]
    assert page.inner_text("#c") == "mill"
    assert page.inner_text("#s") == "24000"


DOWN = "G21 G90 G17\nG0 Z5.\nT1 M6\nS2000 M3\nX1. Y1.\nZ0.2\nG1 Z-1.2 F40.\nG0 Z5.\nM30\n"
CUT_AWAY = """() => { const drawn = document.getElementById("done");
    const copy = document.createElement("canvas");
    copy.width = drawn.width; copy.height = drawn.height;
    const pen = copy.getContext("2d", {willReadFrequently: true});
    pen.drawImage(drawn, 0, 0);
    const all = pen.getImageData(0, 0, copy.width, copy.height).data;
    let n = 0;
    for (let i = 0; i < all.length; i += 4)
      if (all[i + 3] > 250 && all[i + 2] > all[i] + 40) n += 1;
    return n; }"""


def cut_away(page: Any, share: float) -> int:
    """Points of the drawing that show metal cut away at a time."""
    slide(page, share)
    return int(page.evaluate(CUT_AWAY))


@pytest.mark.parametrize(("one", "other"), [
    ("drill 1", "drill 2"), ("end-mill 1 2 flutes", "end-mill 2 2 flutes"), ("reamer 1", "reamer 2")
])
def test_a_hole_made_straight_down_is_gone_as_wide_as_its_cutter(
        opened: Any, one: str, other: str) -> None:
    layout, _, _, _ = blanks(1, 1)
    program = read_program(DOWN, MILL, "down.nc")
    gone = []
    for words in (one, other):
        page = opened(shown(layout, [program], MILL, {1: parse_cutter(words)}, "down"))
        assert cut_away(page, 0.0) == 0
        gone.append(cut_away(page, 1.0))
    assert gone[0] > 100
    assert gone[1] == pytest.approx(4 * gone[0], rel=0.1)


def test_a_mark_of_a_pointed_cutter_is_as_wide_as_it_went_deep(opened: Any) -> None:
    layout, _, _, _ = blanks(1, 1)
    gone = []
    for depth in ("0.1", "0.2"):
        program = read_program(DOWN.replace("Z-1.2", f"Z-{depth}"), MILL, "down.nc")
        spot = {1: parse_cutter("spot-drill 1 point-angle 90")}
        page = opened(shown(layout, [program], MILL, spot, "down"))
        gone.append(cut_away(page, 1.0))
    assert 2 * gone[0] < gone[1] < 6 * gone[0]


def test_readings_follow_the_moves_and_keys_step_them(opened: Any) -> None:
    layout, read, cutters = teeth(12, 0.5, 8)
    page = opened(shown(layout, [read], MILL, cutters, "teeth", names={4: "disc"}))
    page.keyboard.press("End")
    settle(page)
    assert page.inner_text("#a") == "330.000"
    page.keyboard.press("Home")
    settle(page)
    assert page.inner_text("#t").startswith("0:00")
    seen = []
    for _ in range(6):
        page.keyboard.press(".")
        settle(page)
        seen.append(place(page))
    # Each key press goes on by one move of the program.
    assert all(first != then for first, then in pairwise(seen))
    for back in reversed(seen[:-1]):
        page.keyboard.press(",")
        settle(page)
        assert place(page) == pytest.approx(back, abs=1e-3)


def test_engagement_of_a_tooth_cutter_is_read_off_where_it_cuts(opened: Any) -> None:
    layout, read, cutters = teeth(12, 0.5, 8)
    page = opened(shown(layout, [read], MILL, cutters, "teeth", names={4: "disc"}))
    seen = set()
    for _ in range(12):
        page.keyboard.press(".")
        settle(page)
        seen.add(page.inner_text("#e"))
    # Two layers of equal thickness, each half the depth: acos(1 − a/R) by hand, and air between.
    layer = layout.tooth.sizes.whole_depth / 2
    assert seen == {"0°", f"{math.degrees(math.acos(1 - layer / 10)):.0f}°"}


def test_a_click_on_a_line_goes_there_and_zoom_draws_anew(opened: Any) -> None:
    layout, read, cutters, names = blanks(1, 1)
    page = opened(shown(layout, [read], MILL, cutters, "blank", names=names))
    page.click("#text .line >> nth=7")
    settle(page)
    assert page.inner_text("#text .now") == page.inner_text("#text .line >> nth=7")
    picture = "document.getElementById('done').toDataURL().length"
    slide(page, 0.8)
    before = page.evaluate(picture)
    page.mouse.move(300, 300)
    with drawn_anew(page):
        page.mouse.wheel(0, -600)
    assert page.evaluate(picture) != before


def test_every_part_can_be_reached_and_named_without_a_mouse(opened: Any) -> None:
    layout, read, cutters, names = blanks(1, 1)
    page = opened(shown(layout, [read], MILL, cutters, "blank", names=names))
    reached = set()
    for _ in range(16):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.id"))
    assert {"field", "text", "when", "play", "pace", "fit", "loupe", "rapids", "dark",
            "help"} <= reached
    nameless = page.evaluate("""() => [...document.querySelectorAll("button, input, select, main")]
        .filter(one => !(one.getAttribute("aria-label") || one.innerText.trim()
                         || one.closest("label")?.innerText.trim())).map(one => one.id)""")
    assert nameless == []
    assert "minutes" in page.get_attribute("#field", "aria-label")
    assert re.search(r"of \d+:\d\d, line \d+", page.get_attribute("#when", "aria-valuetext"))


def test_reduced_motion_shows_one_picture_a_second(opened: Any) -> None:
    layout, read, cutters, names = blanks(1, 1)
    page = opened(shown(layout, [read], MILL, cutters, "blank", names=names),
                  reduced_motion="reduce")
    page.click("#play")
    page.wait_for_timeout(500)
    assert page.inner_text("#t").startswith("0:00")
    page.wait_for_timeout(800)
    assert not page.inner_text("#t").startswith("0:00")


def test_a_hundred_thousand_moves_are_drawn_and_stepped_through(opened: Any) -> None:
    layout, _, cutters, names = blanks(3, 2)
    read = zigzag(100_000)
    page = opened(shown(layout, [read], MILL, cutters, "large", names=names))
    for share in (1.0, 0.25, 0.75, 1.0):
        slide(page, share)
    assert place(page) == pytest.approx(read.motion.end[-1].tolist(), abs=5e-4)
    assert page.inner_text("#text .now") == read.lines[-1]
    # Only what is seen of the text stands in the document.
    assert page.evaluate("document.querySelectorAll('#text .line').length") < 200
    drawn = page.evaluate("""() => { const all = document.getElementById("done");
        const dots = all.getContext("2d").getImageData(0, 0, all.width, all.height).data;
        let inked = 0; for (let i = 3; i < dots.length; i += 4) inked += dots[i] > 0;
        return inked / (all.width * all.height); }""")
    assert drawn > 0.2


def test_text_of_a_program_cannot_become_markup(opened: Any) -> None:
    layout, read, cutters, _ = blanks(1, 1)
    nasty = '</script><script>document.title = "taken"</script>'
    lines = (nasty, *read.lines[1:])
    page = opened(shown(layout, [replace(read, lines=lines)], MILL, cutters, nasty,
                             names={2: nasty}))
    assert page.title() == nasty
    assert page.inner_text("#text .line >> nth=0") == nasty


def test_a_program_without_a_layout_is_shown_from_above(opened: Any) -> None:
    _, read, cutters, names = blanks(1, 1)
    page = opened(shown(None, [read], MILL, cutters, "a program", names=names))
    slide(page, 1.0)
    assert place(page) == pytest.approx(read.motion.end[-1].tolist(), abs=5e-4)


def test_on_paper_the_drawing_is_there_on_white(opened: Any) -> None:
    layout, read, cutters, names = blanks(1, 1)
    page = opened(shown(layout, [read], MILL, cutters, "blank", names=names),
                  color_scheme="dark")
    slide(page, 0.9)
    assert page.get_attribute("html", "data-ground") == "dark"
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.get_attribute("html", "data-ground") == "light"
    shades = page.evaluate("""async () => { const paper = document.getElementById("paper");
        await paper.decode(); const all = document.createElement("canvas");
        all.width = paper.naturalWidth; all.height = paper.naturalHeight;
        const pen = all.getContext("2d"); pen.drawImage(paper, 0, 0);
        const dots = pen.getImageData(0, 0, all.width, all.height).data;
        let white = 0, dark = 0;
        for (let i = 0; i < dots.length; i += 4) { white += dots[i] > 250; dark += dots[i] < 90; }
        return [white, dark].map(n => 4 * n / dots.length); }""")
    assert shades[0] > 0.2
    assert shades[1] > 0.02
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.get_attribute("html", "data-ground") == "dark"


def test_two_fingers_zoom_and_one_moves_the_drawing(opened: Any) -> None:
    layout, read, cutters, names = blanks(1, 1)
    page = opened(shown(layout, [read], MILL, cutters, "blank", names=names),
                  has_touch=True, viewport={"width": 420, "height": 800})
    picture = "document.getElementById('ground').toDataURL()"
    fingers = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        fingers.send("Input.dispatchTouchEvent", {
            "type": kind, "touchPoints": [{"x": x, "y": y, "id": n}
                                          for n, (x, y) in enumerate(points)]})

    first = page.evaluate(picture)
    with drawn_anew(page):
        touch("touchStart", (200, 250))
        touch("touchMove", (230, 280))
        touch("touchEnd")
    moved = page.evaluate(picture)
    assert moved != first
    with drawn_anew(page):
        touch("touchStart", (180, 250), (220, 250))
        touch("touchMove", (140, 250), (260, 250))
        touch("touchEnd")
    assert page.evaluate(picture) != moved
    # Fingers on the drawing leave the slider where it is.
    assert page.input_value("#when") == "0"


def two_setups(verdict: Verdict | None = None) -> str:
    layout, read, cutters, names = blanks(2, 1)
    comment = read.lines.index("block 3")
    told = replace(read, events=(
        Event("comment", comment + 1, 1, "STEP 1 DRILL"),
        Event("cutter-change", comment + 2, 1, value=1),
        Event("comment", int(read.motion.line[-9]), len(read.motion) - 9, "STEP 2 MILL")))
    stack, teeth_read, discs = teeth(12, 0.5, 8)
    return bench_page([Scene("blanks", layout, [told], cutters, names, "as it lies"),
                       Scene("teeth", stack, [teeth_read], discs, {4: "disc"}, "on the arbor",
                             "arbor and nut")], MILL, "two", verdict=verdict)


def test_steps_and_cutters_are_a_list_to_jump_by(opened: Any) -> None:
    page = opened(two_setups())
    entries = "#places button"
    assert page.inner_text("#places").splitlines() == ["Step 1 drill, cutter: drill",
                                                       "Step 2 mill"]
    slide(page, 0.0)
    page.click(f"{entries} >> nth=1")
    settle(page)
    assert page.inner_text("#places [aria-current]") == "Step 2 mill"
    assert int(page.inner_text("#text .now").split()[1]) == int(
        page.get_attribute(f"{entries} >> nth=1", "data-place")) + 1
    page.click(f"{entries} >> nth=0")
    settle(page)
    assert page.inner_text("#places [aria-current]").startswith("Step 1")


def test_the_next_setup_is_gone_on_with_where_one_ends(opened: Any) -> None:
    page = opened(two_setups())
    assert not page.is_visible("#then")
    assert page.is_visible("#e")
    slide(page, 1.0)
    assert page.inner_text("#then p") == "Next is teeth: arbor and nut"
    page.click("#go-on")
    until(page, "document.getElementById('where').textContent.includes('arbor')")
    settle(page)
    assert page.inner_text("#beneath") == "on the arbor"
    assert page.inner_text("#t").startswith("0:00")
    assert page.get_attribute("[data-setup='1']", "aria-pressed") == "true"
    assert page.is_visible("#a")
    slide(page, 1.0)
    assert not page.is_visible("#then")
    page.click("[data-setup='0']")
    until(page, "document.getElementById('where').textContent.includes('above')")
    assert not page.is_visible("#a")


LENS = """() => { const drawn = document.getElementById("lens");
    const copy = document.createElement("canvas");
    copy.width = drawn.width; copy.height = drawn.height;
    const pen = copy.getContext("2d", {willReadFrequently: true});
    pen.drawImage(drawn, 0, 0);
    const all = pen.getImageData(0, 0, drawn.width, drawn.height).data;
    const [r, g, b] = all.slice(4 * (drawn.width * Math.round(drawn.height * 0.3)
                                     + Math.round(drawn.width / 2)), Infinity);
    let n = 0;
    for (let i = 0; i < all.length; i += 4)
      if (all[i] === r && all[i + 1] === g && all[i + 2] === b) n += 1;
    return n; }"""


def test_spaces_of_a_wheel_come_one_by_one(opened: Any) -> None:
    """Metal shown of the wheel is the blank's less a twelfth of all spaces for each one cut."""
    layout, read, discs = teeth(12, 0.5, 8)
    page = opened(shown(layout, [read], MILL, discs, "teeth", {4: "disc"}))
    metal = []
    for share in (0.0, 0.5, 1.0):
        slide(page, share)
        metal.append(page.evaluate(LENS))
    assert metal[0] > metal[1] > metal[2]
    assert metal[0] - metal[1] == pytest.approx(metal[1] - metal[2], rel=0.25)
    slide(page, 0.0)
    assert page.evaluate(LENS) == pytest.approx(metal[0], rel=0.002)


def test_rapids_are_left_out_and_brought_back(opened: Any) -> None:
    layout, read, cutters, names = blanks(2, 1)
    page = opened(shown(layout, [read], MILL, cutters, "blanks", names))
    slide(page, 1.0)
    drawn = "document.getElementById('ways').toDataURL()"
    withal = page.evaluate(drawn)
    page.click("#rapids")
    settle(page)
    without = page.evaluate(drawn)
    assert without != withal
    page.keyboard.press("r")
    settle(page)
    assert page.evaluate(drawn) == withal


def test_the_page_says_whether_it_may_be_run_and_what_to_mind(opened: Any) -> None:
    page = opened(two_setups(Verdict(7, (), ("Eyes <protected>.",))))
    assert page.inner_text("#verdict") == "All 7 proofs hold"
    page.click("#mind")
    assert "Eyes <protected>." in page.inner_text("#minding")
    page.click("#minded")
    page = opened(two_setups(Verdict(6, ("teeth: depth",))))
    assert page.inner_text("#verdict") == "1 proofs do not hold: not to be run"
    page.click("#mind")
    assert "teeth: depth" in page.inner_text("#minding")


def test_on_a_phone_nothing_lies_over_another(opened: Any) -> None:
    page = opened(two_setups(Verdict(7, (), ("Eyes.",))), viewport={"width": 390, "height": 780})
    slide(page, 0.5)
    boxes = page.evaluate("""() => ["header", "#field", "#setups", "#lens", "#places", "#text",
        "#figures", "footer"].map(name => { const one = document.querySelector(name)
        .getBoundingClientRect(); return [name, one.left, one.top, one.right, one.bottom]; })""")
    assert all(right <= 390.5 and bottom > top for _, _, top, right, bottom in boxes)
    for n, (name, left, top, right, bottom) in enumerate(boxes):
        for other, a, b, c, d in boxes[n + 1:]:
            assert min(right, c) - max(left, a) < 1 or min(bottom, d) - max(top, b) < 1, (
                name, other)
