"""Faults of machine files, cutters, tables, drawings, teeth, dividing, cuts and steps, in words."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from message_templates import left_in_english
from workshop import DRIVEN, PLATE, TEETH, WHEEL, read

from camgen.cutting.planner import plan_cut
from camgen.dividing import divide_by_hand, divide_driven
from camgen.drawings.drawing import read_drawing
from camgen.faults import Refused
from camgen.messages import Message
from camgen.plan import plan_job
from camgen.shop.cutters import parse_cutter
from camgen.shop.fits import class_limits
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine, machine_of
from camgen.shop.materials import find_material
from camgen.shop.threads import thread_of
from camgen.teeth.forms import pinion_tooth, wheel_tooth
from camgen.words import languages, words
from camgen.yamlfile import load_yaml

OTHERS = [language for language in languages() if language != "en"]
# Words that no sentence in another language has, and no name or word of a file here.
ENGLISH = re.compile(
    r"(?<![-`\w])(the|and|of|is|are|with|would|must|than|that|which|not|no|to|at|by)(?![-`\w])")
MILL = Machine(name="a-mill", describes="an example")


def machine_says(**said: object) -> None:
    machine_of(load_yaml(json.dumps({"name": "own", "describes": "own", **said}), "own.yaml"))


def cut(material: str, cutter: str, *, width: float | None = None, depth: float | None = None,
        speed: float | None = None, feed: float | None = None) -> None:
    plan_cut(find_material(material), parse_cutter(cutter), MILL, width, depth, speed=speed,
             feed=feed)


def own_table(folder: Path, text: str) -> None:
    (folder / "materials.yaml").write_text(text, encoding="utf-8")
    find_material("brass", folder)


def drawn(folder: Path, shapes: str, **asked: float | str) -> None:
    file = folder / "drawn.svg"
    file.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" '
                    f'viewBox="0 0 9 9"><g id="plate">{shapes}</g></svg>', encoding="utf-8")
    read_drawing(file, **asked)  # type: ignore[arg-type]


def plate(*steps: str) -> None:
    plan_job(read(PLATE + "".join(f"      - {step}\n" for step in steps)), DRIVEN)


def teeth(step: str) -> None:
    plan_job(read(WHEEL + TEETH % ("touch", f", {step}")), DRIVEN)


TABLES: dict[str, Callable[[Path], object]] = {
    "no such machine": lambda _: find_machine("plain-isa"),
    "no machine at all like it": lambda _: find_machine("qqqq"),
    "letters": lambda _: machine_says(x={"letter": "Y"}),
    "changer": lambda _: machine_says(change={"way": "automatic", "word": None}),
    "own block": lambda _: machine_says(insert={"before-step": ["G91", "(OPEN", "G0 X#1"]}),
    "two meanings": lambda _: machine_says(coolant={"flood": "M3"}),
    "cutter in words": lambda _: parse_cutter("endmil 0.4 7 reach flutes 90 flutes"),
    "cutter that cannot be": lambda _: parse_cutter("end-mill 1 tip 0.4 reach 2 flute-length 5"),
    "material": lambda _: find_material("brasss"),
    "own material": lambda folder: own_table(
        folder, "brass-leaded: {kc1: -3, densitty: 8, mc: {value: 9e9, ox: x}}\nown: {mc: 0.2}"),
    "thread": lambda _: thread_of("M1.61"),
    "class": lambda _: class_limits(19.0, "H7"),
    "stroke": lambda folder: drawn(folder, '<path d="M1 1L2 2L3"/><path d="M4 4L5 5"/>'),
    "outlines meet": lambda folder: drawn(folder, '<path d="M1 1L5 5L1 5L5 1Z"/>'),
    "layer": lambda folder: drawn(folder, '<circle cx="3" cy="3" r="1"/>', layer="plaet"),
    "units": lambda folder: drawn(folder, '<circle cx="3" cy="3" r="1"/>', units="inch"),
    "few teeth": lambda _: wheel_tooth("cycloidal", 3, 0.1, 8),
    "no mate": lambda _: wheel_tooth("cycloidal", 60, 0.1),
    "pressure angle": lambda _: pinion_tooth("involute", 3, -1.0, 60, pressure_angle=50.0),
    "hole circles": lambda _: divide_by_hand(127, 40, ((15, 16), (18,))),
    "fine steps": lambda _: divide_driven(5000, 0.1, 90.0, 3200),
    "weak cutter": lambda _: cut("pinion-steel", "end-mill 0.1 2 flutes reach 4", depth=0.1,
                                 feed=900.0),
    "no such speed": lambda _: cut("brass", "drill 1", speed=1.0),
    "too wide": lambda _: cut("brass", "end-mill 1", width=3.0, depth=-1.0),
}
STEPS: dict[str, Callable[[], object]] = {
    "holes": lambda: plate("drill: {cutter: mill, holes: [tain]}",
                           "tap: {cutter: spot, holder-gives: 0.5}"),
    "depths": lambda: plate("spot: {cutter: spot, holes: [feet], depth: 3}"),
    "walls": lambda: plate("outline: {cutter: mill, skin: 0.99, tabs: {count: 9, width: 0.01, "
                           "height: 2}, finish: 0.5}"),
    "again": lambda: plate("outline: {cutter: mill, skin: 0.05}",
                           "outline: {cutter: mill, skin: 0.05}"),
    "pockets": lambda: plate("pocket: {cutter: mill, pockets: [barrel], width: 0.9, "
                             "entry-holes: [train]}"),
    "typed": lambda: plate("bore: {cutter: mill, holes: [train], correction: 1, feed: 9000}"),
    "face": lambda: plate("face: {cutter: mill, width: 3}"),
    "teeth": lambda: teeth("trial-spaces: 50, last-cut: 9, passes: 1, trial-short: 2"),
}


def said_wholly(no: Refused) -> None:
    """Every fault has what is wrong in words of every language, and so its remedy."""
    for fault in no.faults:
        assert isinstance(fault.message, Message), fault.message
        for text in (fault.message, *([fault.remedy] if fault.remedy else [])):
            assert not text.endswith("."), text
            for language in OTHERS:
                assert left_in_english(words(language), text) == []
                assert not ENGLISH.search(words(language).say(text)), words(language).say(text)


@pytest.mark.parametrize("wrong", TABLES)
def test_a_fault_of_a_table_or_a_form_is_said_in_every_language(
        wrong: str, tmp_path: Path) -> None:
    with pytest.raises(Refused) as no:
        TABLES[wrong](tmp_path)
    said_wholly(no.value)


@pytest.mark.parametrize("wrong", STEPS)
def test_a_fault_of_a_step_is_said_in_every_language(wrong: str) -> None:
    with pytest.raises(Refused) as no:
        STEPS[wrong]()
    said_wholly(no.value)


@pytest.mark.parametrize("said", [
    {"rotary": {"way": "shortest", "unwind": False}},
    {"insert": {"before-step": ["X{far}", "Ö"]}},
    {"spindle": {"lowest": 9000, "highest": 800}},
    {"dividing": {"kind": "by-hand", "plates": [[1, 20]]}},
    {"dividing": {"kind": "by-hand", "message": "TURN"}},
])
def test_what_a_machine_file_may_not_say_is_said_in_every_language(
        said: dict[str, object]) -> None:
    with pytest.raises(Refused) as no:
        machine_says(**said)
    for fault in no.value.faults:
        for language in OTHERS:
            assert left_in_english(words(language), fault.message) == []
            assert not ENGLISH.search(words(language).say(fault.message))


def test_a_sentence_that_is_not_said_is_found() -> None:
    known = words("de").say(Message("more than 0"))
    assert known == "mehr als 0"
    assert left_in_english(words("de"), Message("the lamp is off")) == ["the lamp is off"]
    assert ENGLISH.search("le tour of the pignon")
