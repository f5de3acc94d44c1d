"""A stock of several parts turned over as one: both programs against each other and the parts."""

from __future__ import annotations

import cmath
import dataclasses
import math
import re
from pathlib import Path

import numpy as np
import pytest
import shapely

from camgen.faults import Refused
from camgen.make.one_stock.chain import ProvedStock, proved_stock
from camgen.make.one_stock.told import output_of_stock
from camgen.make.variants import Wish
from camgen.proof.flat.strip import prove_strip, prove_tabs

PART = """\
job: {name}
material: brass
plate:
  thickness: 1
  outline: {outline}
  holes:
    pins: {{diameter: 0.8, at: [[2, 1], [-2, -1]]}}
    top: {{diameter: 0.8, at: [[1, -1]], depth: 0.4}}
    low: {{diameter: 0.8, at: [[-1, 1.2]], depth: 0.5, face: under}}
cutters:
  d: {{kind: drill, diameter: 0.8, flute-length: 4, reach: 6, point-angle: 140}}
  m: {{kind: end-mill, diameter: 0.6, flutes: 2, flute-length: 1.5, reach: 4}}
setups:
  - name: one
    stock: {{sheet: [20, 20], thickness: 1}}
    {up}
    holding: &wax {{by: wax, carrier: brass, carrier-thickness: 5, cut-into: 0.6,
                  holds-slugs: true}}
    steps:
      - drill: {{cutter: d, holes: [pins]}}
      - bore: {{cutter: m, holes: [{first}]}}
{early}
  - name: two
    {down}
    stock: {{left-by: one, thickness: 1}}
    zero: {{dowel: pins-1}}
    holding: *wax
    steps:
      - bore: {{cutter: m, holes: [{second}]}}
{late}
"""
UNDER = "face: under\n    turned-over: about Y"
CUT = "      - outline: {cutter: m}"
TABS = "      - outline: {cutter: m, tabs: {count: 3, width: 0.8, height: 0.3}}"
STOCK = """\
job: strip
pieces:
{pieces}
stock: {{sheet: [44, 18], thickness: 1}}
holding: {{by: wax, carrier: brass, carrier-thickness: 5, cut-into: 0.7, holds-slugs: true}}
cutters: {{d15: {{kind: drill, diameter: 1.5, flute-length: 8, reach: 10}}}}
dowels: {{at: {at}, diameter: 1.5, steps: [drill: {{cutter: d15}}]}}
second-side: {{turned-over: about {axis}}}
"""
AT = "[[-19, -6], [18, 5]]"
PIECES = """\
  - {job: bar.yaml, at: [-9, 1], turned: 37}
  - {job: disc.yaml, at: [[2, 0], [11, -2]]}"""


def part(name: str, outline: str, *, under_first: bool = False, early: bool = False) -> str:
    return PART.format(
        name=name, outline=outline, up=UNDER if under_first else "face: upper",
        down="face: upper" if under_first else UNDER, first="low" if under_first else "top",
        second="top" if under_first else "low", early=TABS if early else "",
        late="" if early else CUT)


def written(folder: Path, pieces: str = PIECES, axis: str = "X", at: str = AT, **others: str
            ) -> Path:
    parts = {"bar": part("bar", "{rectangle: [8, 5]}"),
             "disc": part("disc", "{circle: 7}", under_first=True, early=True)}
    for name, text in {**parts, **others}.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    path = folder / "strip.yaml"
    path.write_text(STOCK.format(pieces=pieces, axis=axis, at=at), "utf-8")
    return path


@pytest.fixture(scope="module", params=["X", "Y"])
def turned(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
           ) -> ProvedStock:
    return proved_stock(written(tmp_path_factory.mktemp("strip"), axis=request.param))


def drilled(text: bytes) -> list[complex]:
    """Places where anything goes below Z-0.3, by the words of the blocks alone."""
    x = y = z = 0.0
    found = []
    for line in text.decode("ascii").splitlines():
        words = dict(re.findall(r"([XYZ])(-?\d+\.?\d*)", re.sub(r"\(.*?\)", "", line)))
        if "G53" in line or "G28" in line:
            continue
        x, y = float(words.get("X", x)), float(words.get("Y", y))
        z = float(words.get("Z", z))
        if z < -0.3:
            found.append(complex(x, y))
    return found


def test_both_sides_are_proved_and_meet_reckoned_from_the_texts_alone(turned: ProvedStock) -> None:
    assert turned.failed == ()
    first, second = turned.sides
    assert [one.kind.name for one in first.kinds] == ["bar", "disc", "dowels"]
    assert [one.kind.name for one in second.kinds] == ["bar", "disc"]
    axis = turned.stock_file.turned.axis
    upper = {"bar": [(-9, 1, 37.0)], "disc": [(2, 0, 0.0), (11, -2, 0.0)]}

    def seen(at: complex) -> complex:
        return at.conjugate() if axis == "X" else -at.conjugate()

    went = [np.array(drilled(side.programs[0].text)) for side in turned.sides]
    for name, places in upper.items():
        for x, y, degrees in places:
            turn = cmath.exp(1j * math.radians(degrees))
            for side, hole in ((0, 1 - 1j), (1, -1 + 1.2j)):
                # The bar's upper face is up first, the disc's under face.
                of_part = hole if name == "bar" else (-1 + 1.2j if side == 0 else 1 - 1j)
                lies = of_part * turn if name == "bar" else seen(of_part)
                at = complex(x, y) + lies
                if side == 1:
                    at = seen(at - complex(-19, -6))
                # A bore goes round in its hole: its way has the hole's middle within.
                near = went[side][np.abs(went[side] - at) < 0.3]
                assert len(near) > 3, (name, side, at)
                middle = complex((near.real.min() + near.real.max()) / 2,
                                 (near.imag.min() + near.imag.max()) / 2)
                assert abs(middle - at) < 0.003


def test_the_dowels_are_drilled_first_and_left_alone(turned: ProvedStock) -> None:
    frame = turned.sides[0].kinds[-1]
    assert frame.evidence.cut.sum() > 0
    for place in (-19 - 6j, 18 + 5j):
        assert np.abs(np.array(drilled(turned.sides[0].programs[0].text)) - place).min() < 1e-3
    words = [proof.id.word for proof in turned.sides[1].proofs]
    assert words.count("dowels") == 2
    assert "tabs-kept" in words


def test_a_strip_turned_or_moved_a_little_is_found(turned: ProvedStock) -> None:
    first, second = turned.sides
    frame, one = first.kinds[-1].evidence, second.kinds[1]
    axis, names = turned.strip.axis, one.kind.names
    assert all(p.holds for p in prove_strip(axis, frame, first.kinds[1].evidence, one.evidence,
                                            names))
    # Dowels alone tell about which axis it was turned; but not turned at all it does not meet.
    assert not prove_strip("", frame, first.kinds[1].evidence, one.evidence, names)[0].holds
    places = tuple((x + 0.02, y) for x, y in one.layout.places)
    moved = dataclasses.replace(one.evidence, layout=dataclasses.replace(
        one.layout, places=places))
    found = prove_strip(axis, frame, first.kinds[1].evidence, moved, names)
    assert not found[0].holds
    assert found[0].figure == pytest.approx(20, abs=1)


def test_tabs_cut_into_are_found(turned: ProvedStock) -> None:
    side = turned.sides[1]
    lowest = int(np.argmax(side.evidence.cut))
    at = side.evidence.motion.end[lowest, :2]
    assert prove_tabs(side.evidence, ["far"], [shapely.Point(900, 900).buffer(1)]).holds
    assert not prove_tabs(side.evidence, ["disc-1"], [shapely.Point(*at).buffer(0.5)]).holds


def test_the_sheet_tells_how_to_turn_and_by_which_hole_to_see(turned: ProvedStock) -> None:
    output = output_of_stock(turned, pictures=False)
    sheet = output.files["sheet.html"].decode()
    axis = turned.strip.axis
    assert f"Turn the whole stock over about {axis}" in sheet
    assert "dowels-1" in sheet
    assert "the spindle must stand over" in sheet
    assert sorted(output.files) == ["report.json", "sheet.html", "strip-first.nc",
                                    "strip-second.nc"]


def test_the_sides_are_cut_in_air_and_begun_again_each_by_its_name(turned: ProvedStock) -> None:
    air = output_of_stock(turned, Wish(air=10.0), pictures=False)
    assert {"strip-first-air.nc", "strip-second-air.nc"} < set(air.files)
    for side in turned.sides:
        whole, raised = side.programs[0].text, air.files[f"{side.name}-air.nc"]
        lowest = [min(float(z) for z in re.findall(rb"Z(-?\d+\.?\d*)", text))
                  for text in (whole, raised)]
        assert lowest[1] == pytest.approx(lowest[0] + 10, abs=1e-6)
    again = output_of_stock(turned, Wish(setup="second", from_step=2), pictures=False)
    assert [one for one in again.files if one.endswith(".nc")] == ["strip-second-from-step-2.nc"]
    with pytest.raises(Refused, match="which setup to start again in"):
        output_of_stock(turned, Wish(from_step=2), pictures=False)


@pytest.mark.parametrize(("pieces", "change", "says"), [
    (PIECES, ("second-side: {turned-over: about X}", ""), "is for a stock that is turned over"),
    (PIECES, ("dowels: {", "note: x #"), "nothing says what the stock lies on"),
    ("  - {job: bar.yaml, at: [-16, -5]}", ("", ""), "dowels-1 lies over bar"),
    ("  - {job: loose.yaml}", ("", ""), "before the stock is turned over, without tabs"),
    (PIECES, ("drill: {cutter: d15}", "drill: {cutter: none}"), "none"),
    (PIECES, ("diameter: 1.5, steps", "diameter: 1.2, steps"), "1.5"),
])
def test_what_cannot_be_turned_over_is_refused_in_words(
    tmp_path: Path, pieces: str, change: tuple[str, str], says: str
) -> None:
    loose = part("loose", "{circle: 7}", early=True).replace(TABS, CUT)
    path = written(tmp_path, pieces, loose=loose)
    path.write_text(path.read_text("utf-8").replace(*change), "utf-8")
    with pytest.raises(Refused) as no:
        proved_stock(path)
    assert any(says in fault.message for fault in no.value.faults), no.value.faults
    assert all(fault.place.line > 0 for fault in no.value.faults)


def test_a_stock_that_looks_alike_half_turned_is_refused(tmp_path: Path) -> None:
    alike = part("alike", "{circle: 7}").replace("      - bore: {cutter: m, holes: [top]}\n", "")
    alike = alike.replace("plate:", "made-elsewhere: [top]\nplate:")
    path = written(tmp_path, "  - {job: alike.yaml}", at="[[-19, 0], [19, 0]]", alike=alike)
    with pytest.raises(Refused, match="no hole of its first side would tell"):
        output_of_stock(proved_stock(path), pictures=False)
    third = written(tmp_path, "  - {job: alike.yaml}", at="[[-19, 0], [19, 0], [15, 6]]")
    stock = proved_stock(third)
    assert stock.failed == ()
    assert output_of_stock(stock, pictures=False).files
