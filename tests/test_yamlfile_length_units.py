"""A length with a unit behind it: the figure that is offered is the length that was typed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from camgen.faults import Refused
from camgen.job.reading import parse_job
from camgen.part.wheels.wheel import Wheel
from camgen.steps import step_words

JOB = """job: wheel
units: {units}
material: brass
wheel: {{teeth: 24, module: {module}, thickness: {thickness}, bore: {bore}, form: involute}}
made-elsewhere: [bore, teeth]
cutters:
  mill: {{kind: end-mill, diameter: {mill}, flutes: 2}}
setups:
  - name: blank
    stock: {{sheet: [{sheet}, {sheet}], thickness: {thickness}}}
    steps:
      - outline: {{cutter: mill}}
"""
# mm in a unit: the international inch is 25.4 mm, a mil or thou its thousandth.
UNITS = {"mm": 1.0, "cm": 10.0, "µm": 0.001, "um": 0.001, "in": 25.4, "inch": 25.4, '"': 25.4,
         "inches": 25.4, "thou": 0.0254, "mil": 0.0254, "zoll": 25.4, "pouces": 25.4, "IN": 25.4}
MM = {"module": 0.25, "thickness": 0.4, "bore": 1.2, "mill": 0.8, "sheet": 12.0}


def job(units: str, **typed: str) -> str:
    one = 25.4 if units == "inch" else 1.0
    usual = {name: f"{value if name == 'module' else value / one:.9g}"
             for name, value in MM.items()}
    return JOB.format(units=units, **{**usual, **typed})


def wheel(text: str) -> Wheel:
    part = parse_job(text, Path("job.yaml"), step_words()).job.part
    assert isinstance(part, Wheel)
    return part


def offered(text: str) -> str:
    """The figure that the one fault of a job tells to write."""
    with pytest.raises(Refused) as no:
        wheel(text)
    (fault,) = no.value.faults
    found = re.search(r"(?:alone|write)[: ]+([-+0-9.e]+)$", fault.remedy)
    assert found is not None, fault
    return found[1]


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("apart", ["", " "])
def test_the_figure_offered_is_the_length_typed(units: str, unit: str, apart: str) -> None:
    figure = offered(job(units, bore=f"'{0.4 / UNITS[unit]:.9g}{apart}{unit}'"))
    assert wheel(job(units, bore=figure)).bore == pytest.approx(0.4, rel=1e-5)


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("unit", UNITS)
def test_a_module_is_in_mm_whatever_the_file_is_in(units: str, unit: str) -> None:
    figure = offered(job(units, module=f"'{0.25 / UNITS[unit]:.9g} {unit}'"))
    assert wheel(job(units, module=figure)).module == pytest.approx(0.25, rel=1e-5)


@pytest.mark.parametrize("typed", ["12 teeth", "9°", "5 %", "3 pieces"])
def test_what_is_no_unit_of_length_is_left_away(typed: str) -> None:
    assert offered(job("mm", bore=f"'{typed}'")) == typed.split()[0].rstrip("°")


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_numbers_alone_are_read(units: str) -> None:
    assert wheel(job(units)).bore == pytest.approx(1.2)
