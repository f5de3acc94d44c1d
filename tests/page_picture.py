"""The README's picture of a page, taken anew: ``python tests/page_picture.py``."""

from __future__ import annotations

import tempfile
from pathlib import Path

from click.testing import CliRunner
from test_preview_page import BROWSER, QUIET, until

from camgen.cli import group
from camgen.shipped import shipped_folder

JOB, TAKEN_AT = "train-plate", 0.8
SET_TIME = """share => {
    const when = document.getElementById("when");
    when.value = String(share * 100000);
    when.dispatchEvent(new Event("input"));
}"""


def main() -> None:
    from playwright.sync_api import sync_playwright

    top = shipped_folder("jobs").parent
    folder = Path(tempfile.mkdtemp())
    done = CliRunner().invoke(group, ["preview", str(top / "jobs" / f"{JOB}.yaml"), "--page",
                                      "--out", str(folder)])
    assert done.exit_code == 0, done.output
    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=BROWSER, args=list(QUIET))
        page = running.new_page(viewport={"width": 1280, "height": 800})
        page.goto((folder / f"{JOB}.html").as_uri())
        until(page, "document.body.dataset.at !== undefined")
        page.evaluate(SET_TIME, TAKEN_AT)
        page.wait_for_timeout(500)
        page.screenshot(path=str(top / "previews" / f"{JOB}-page.png"))
        running.close()


if __name__ == "__main__":
    main()
