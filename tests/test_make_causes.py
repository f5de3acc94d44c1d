"""Where teeth fail because their cutter was made for others, the word that is unlike is named."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from camgen.job.reading import parse_job
from camgen.make.causes.corrected_pair import pair_faults
from camgen.steps import step_words
from camgen.teeth.form import Choice, OwnWord, ToothedPart
from camgen.teeth.forms import FORMS
from camgen.teeth.outlines.own_sizes import OWN_SIZES

JOB = """job: wheel
material: brass
made-elsewhere: [bore, outline]
{part}: {{{count}: 24, module: 0.3, {length}: 0.4, bore: 1.0, form: {form}, mate: {mate}{own}}}
cutters:
  t: {{kind: form-disc, diameter: 20, flutes: 14, thickness: 2, arbor: 12, shank: 8, reach: 20,
      made-for: {{form: {made}, module: 0.3, teeth: {teeth}, mate: {made_mate}{its}}}}}
setups:
  - name: teeth
    dividing: {{stack: 2, backing: 2, arbor: 3, front: {{nut: 3.5, length: 3}}}}
    steps:
      - cut-teeth: {{cutter: t}}
"""
PARTS = {ToothedPart.WHEEL: ("teeth", "thickness"), ToothedPart.PINION: ("leaves", "length")}
# Two values of each own word that leave teeth unlike beyond what is bearable.
VALUES = {"pressure_angle": ("20", "25"), "profile_shift": ("0.3", "0.0"),
          "depth": ("0.30", "0.40"), "front": ("0", "8"), "backlash": ("0.03", "0.1"),
          "root_diameter": ("6.15", "6.3"), "tooth_width": ("0.43", "0.34"),
          "tip_diameter": ("8.1", "8.4"), "addendum_height": ("0.45", "0.6"),
          "back_angle": ("30", "36"), "tip_land": ("0.02", "0.08"),
          "root_radius": ("0.03", "0.08"), "impulse": ("5", "6"), "rise": ("0.2", "0.3"),
          "heel": ("0.1", "0.2"), "heel_angle": ("12", "20")}
OF_LEAVES = {"tip_diameter": ("7.7", "7.85"), "addendum_height": ("0.25", "0.32")}
# Words that leave the space as it is: where an involute ends, and who drives it.
HARMLESS = {("involute", "tip_diameter"), ("involute", "addendum_height"), ("involute", "driver")}


def faults(form: str, part: ToothedPart, *, own: str = "", its: str = "", teeth: int = 24
           ) -> list[str]:
    """Place and message of each fault found of a wheel and the cutter it is cut with."""
    shaped = next(one for one in FORMS if one.name == form).of(part)
    assert shaped is not None
    mate = "72" if part is ToothedPart.PINION else "12" if form == "cycloidal" else "null"
    count, length = PARTS[part]
    text = JOB.format(part=part.value, count=count, length=length, form=form, mate=mate,
                      own=own, made=shaped.made_for, its=its, teeth=teeth,
                      made_mate=mate)
    found = pair_faults(parse_job(text, Path("job.yaml"), step_words()))
    return [f"{one.place.path}: {one.message} | {one.remedy}" for one in found]


CASES = [(form.name, teeth.part, word) for form in FORMS for teeth in form.teeth
         for word in teeth.words]


@pytest.mark.parametrize(("form", "part"), [
    (form.name, teeth.part) for form in FORMS for teeth in form.teeth])
def test_a_cutter_made_for_the_part_is_no_cause(form: str, part: ToothedPart) -> None:
    assert faults(form, part) == []


@pytest.mark.parametrize(("form", "part", "word"), CASES)
def test_the_word_that_is_unlike_is_named_with_both_values(
        form: str, part: ToothedPart, word: OwnWord[Any]) -> None:
    one, other = ((word.value.of[0], word.value.of[-1]) if isinstance(word.value, Choice)
                  else OF_LEAVES.get(word.name, VALUES[word.name])
                  if form == "involute" or part is ToothedPart.PINION else VALUES[word.name])
    typed = word.name.replace("_", "-")
    # Some values stop the pair; that is another cause, told of the part.
    alike = faults(form, part, own=f", {typed}: {one}", its=f", {typed}: {one}")
    assert [fault for fault in alike if "would not run" not in fault] == []
    found = faults(form, part, own=f", {typed}: {one}", its=f", {typed}: {other}")
    if (form, word.name) in HARMLESS:
        assert found == []
        return
    assert len(found) == 1
    assert found[0].startswith("cutters.t.made-for:")
    assert typed in found[0]


@pytest.mark.parametrize("word", [one for one in OWN_SIZES if one.name != "tip_diameter"])
def test_a_cutter_that_lacks_the_own_size_of_the_wheel_is_told_by_it_alone(word) -> None:
    typed, value = word.name.replace("_", "-"), VALUES[word.name][1]
    # The tip circle is the blank's: what the cutter says of it hardly matters.
    said = f", tip-diameter: 8.0, {typed}: {value}"
    if word.name == "addendum_height":
        said = f", {typed}: {value}"
    found = faults("cycloidal", ToothedPart.WHEEL, own=said)
    assert len(found) == 1
    assert f"made for {typed} of the form's own" in found[0]
    assert f"write {typed}: {value} under made-for" in found[0]
    alike = faults("cycloidal", ToothedPart.WHEEL, own=said, its=said)
    assert [fault for fault in alike if "would not run" not in fault] == []
    other = faults("cycloidal", ToothedPart.WHEEL, its=f", {typed}: {value}")
    assert len(other) == 1
    assert f"write {typed}: {value} under wheel:" in other[0]


def test_another_count_is_named_before_other_words() -> None:
    found = faults("involute", ToothedPart.WHEEL, own=", profile-shift: 0.3", teeth=60)
    assert len(found) == 1
    assert "made for 60 teeth" in found[0]


@pytest.mark.parametrize(("words", "stops"), [
    ("addendum-height: 0.63", "addendum-height"), ("tooth-width: 0.34", "tooth-width"),
    ("root-diameter: 6.7, tooth-width: 0.47", "root-diameter"),
    ("root-diameter: 6.2, tip-diameter: 8.45", "tip-diameter"),
    ("root-diameter: 6.2, tip-diameter: 8.1", "")])
def test_a_size_of_its_own_that_stops_the_pair_is_named(words: str, stops: str) -> None:
    found = faults("cycloidal", ToothedPart.WHEEL, own=f", {words}", its=f", {words}")
    if not stops:
        assert found == []
        return
    assert len(found) == 1
    assert found[0].startswith(f"wheel.{stops}: with {stops}")
    assert "the pair would not run" in found[0]
