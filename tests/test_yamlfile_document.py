"""Where a fault stands is told as one would tell it: setups by name, steps by number and kind."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from camgen.cli import group
from camgen.faults import Refused
from camgen.words import words
from camgen.yamlfile import load_yaml

JOB = """
setups:
  - name: blanks
    steps: [bore: {cutter: mill}, outline]
  - {steps: {bore: {cutter: mill}}}
  - name: [odd]
"""


@pytest.mark.parametrize(("path", "told"), [
    (("setups", 0, "steps", 0, "bore", "cutter"), "setup blanks, step 1 (bore), cutter"),
    (("setups", 0, "steps", 0, "bore"), "setup blanks, step 1 (bore)"),
    (("setups", 0, "steps", 0, "cutter"), "setup blanks, step 1 (bore), cutter"),
    (("setups", 0, "steps", 1), "setup blanks, step 2 (outline)"),
    (("setups", 0, "steps", 7, "drill"), "setup blanks, step 8, drill"),
    (("setups", 0, "stock", "sheet", 1), "setup blanks, stock.sheet[1]"),
    (("setups", 1, "steps", "bore", "cutter"), "setup 2, steps.bore.cutter"),
    (("setups", 2), "setup 3"),
    (("setups", 9, "name"), "setup 10, name"),
    (("setups",), "setups"),
    (("setups", "blanks", "steps"), "setups.blanks.steps"),
    (("plate", "holes"), "plate.holes"),
])
def test_a_place_is_told_by_names_and_numbers(path: tuple[str | int, ...], told: str) -> None:
    place = load_yaml(JOB, "a.yaml").place(path)
    assert place.said(str).split(", ", 3)[3] == told
    # For a program the way through the file stays as it stands there.
    assert str(place).endswith(place.path)


def test_a_place_is_told_in_every_language() -> None:
    place = load_yaml(JOB, "a.yaml").place(("setups", 0, "steps", 0, "bore", "cutter"))
    assert place.said(words("de").say).endswith("Aufspannung blanks, Arbeitsgang 1 (bore), cutter")
    assert place.said(words("fr").say).endswith("prise blanks, opération 1 (bore), cutter")


def test_the_terminal_tells_it_so(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    job.write_text("job: x\nmaterial: brass\n"
                   "wheel: {teeth: 60, module: 0.2, mate: 8, thickness: 1, bore: 1}\n"
                   "made-elsewhere: [teeth]\n"
                   "cutters: {mill: {kind: end-mill, diameter: 0.6}}\n"
                   "setups:\n  - {name: flat, stock: {disc: 20, thickness: 1},\n"
                   "     holding: {by: glue},\n"
                   "     steps: [bore: {cuter: mill}]}\n", encoding="utf-8")
    done = CliRunner().invoke(group, ["check", str(job)])
    assert isinstance(done.exception, Refused)
    said = [fault.said(str) for fault in done.exception.faults]
    assert any("setup flat, step 1 (bore), cuter: " in one for one in said), said
