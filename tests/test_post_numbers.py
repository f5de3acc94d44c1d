"""Numbers of programs: their mark, their figures, and none of two that are tried together."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from camgen.commands.trying.small_jobs import measuring_plate, small_jobs
from camgen.post.trying.first import first_program
from camgen.reader import read_program
from camgen.shipped import shipped_folder
from camgen.shop.machines import read_machine


@pytest.mark.parametrize(("mark", "figures", "first"), [
    ("O", 4, "O0100"), (":", 5, ":00100"), ("O", 1, "O100")])
def test_programs_tried_together_have_numbers_of_their_own(
    mark: str, figures: int, first: str, tmp_path: Path
) -> None:
    data = yaml.safe_load((shipped_folder("postprocessors") / "plain-iso.yaml").read_text())
    path = tmp_path / "mine.yaml"
    path.write_text(yaml.safe_dump({**data, "name": "mine", "dividing": None, "program": {
        "number": 100, "number-mark": mark, "number-figures": figures}}))
    machine = read_machine(path)
    texts = [first_program(machine, "first").text.decode()]
    assert texts[0].splitlines()[1] == first
    for one in (*small_jobs(machine, str(path), 2), measuring_plate(machine, str(path), 3)):
        assert (one.failed, one.faults) == ((), ())
        texts += [program.text.decode() for program in one.programs]
    numbers = [re.fullmatch(rf"{mark}([0-9]{{{figures},}})", text.splitlines()[1])
               for text in texts]
    assert [int(found[1]) for found in numbers if found] == [100, 102, 103]
    # The first moves slowly with the spindle off, as it is meant to.
    for text in texts[1:]:
        assert not [one for one in read_program(text, machine, "job").findings if one.grave]
