"""Clamps and dowels at every station of a run, and on the way there: each in its own frame."""

from __future__ import annotations

import re

import pytest
from motion_by_hand import Piece, bench_mill, flat, program
from shapely import box

from camgen.job.models import Job, Setup
from camgen.layout import Clamp, FlatLayout
from camgen.part.features import Hole
from camgen.proof import Evidence, Proof, gather
from camgen.proof.motion.stations import at_each_station, prove_stations
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.proof.table.upright import prove_upright
from camgen.shapes.path import Point
from camgen.shop.cutters import Cutter

CLAMPED = flat(thickness=4.0, stations=3, clamps=(Clamp(box(8, -4, 12, 4), 3.0),))
PINNED = flat(thickness=4.0, stations=3, dowels=(Hole("pin", Point(10, 0), 2.0),))
# The shank is wide, the collet wider; both high enough to clear a clamp from a safe height.
MILL = Cutter(kind="end-mill", diameter=2.0, flute_length=3.0, reach=8.0, shank=3.0, holder=10.0)


def gathered(pieces: list[Piece], layout: FlatLayout, start: tuple[float, float, float]
             ) -> Evidence:
    job = Job(job="by hand", material="brass", cutters={"mill": MILL}, setups=(Setup(name="work"),))
    return gather("work", job, bench_mill(), layout, None, [program(pieces, start=start)],
                  {1: MILL})


def failing(pieces: list[Piece], layout: FlatLayout,
            start: tuple[float, float, float] = (0.0, 0.0, 12.0)) -> list[Proof]:
    """What is found wrong at any station."""
    def both(one: Evidence) -> tuple[Proof, ...]:
        return (*prove_upright(one), *prove_cutter_body(one))

    return [one for one in at_each_station(gathered(pieces, layout, start), both)
            if not one.holds]


def at(station: int, *pieces: Piece) -> list[Piece]:
    """Pieces at a station; the cutter comes there at the safe height."""
    return [(*one, {"station": station}) for one in pieces]


def down(x: float, to: float = -1.0) -> list[Piece]:
    return [("rapid", x, 0, 12), ("rapid", x, 0, 5), ("line", x, 0, to), ("rapid", x, 0, 12)]


FAR = [one for station in (1, 2, 3) for one in at(station, *down(0.0))]


@pytest.mark.parametrize("layout", [CLAMPED, PINNED], ids=["clamp", "dowel"])
def test_work_clear_of_them_at_all_stations_holds(layout: FlatLayout) -> None:
    assert failing(FAR, layout) == []


def test_of_stations_cut_alike_none_is_named() -> None:
    said = [one.where for one in at_each_station(gathered(FAR, CLAMPED, (0.0, 0.0, 12.0)),
                                                 prove_cutter_body)]
    assert said
    assert not any("station" in where for where in said)


@pytest.mark.parametrize("layout", [CLAMPED, PINNED], ids=["clamp", "dowel"])
@pytest.mark.parametrize("station", [1, 2, 3])
@pytest.mark.parametrize("way", ["line", "rapid"])
def test_one_met_at_one_station_only_is_found(
    layout: FlatLayout, station: int, way: str
) -> None:
    into = [("rapid", 10, 0, 12), (way, 10, 0, -1.0), ("rapid", 10, 0, 12)]
    pieces = [one for number in (1, 2, 3)
              for one in at(number, *down(0.0), *(into if number == station else []))]
    found = failing(pieces, layout)
    word = "clamps" if layout is CLAMPED else "dowels"
    assert any(one.id.word == word and f"station {station}" in f"{one.setup} {one.name} {one.where}"
               for one in found), [(str(one.id), one.setup, one.name, one.where) for one in found]


@pytest.mark.parametrize(("along", "said"), [
    ((10, 10, 5), "station 3 is only in part cut"), ((5, 10, 10), "station 1 is only in part cut"),
    ((10, 0, 10), "station 2 is not cut"), ((10, 16, 10), "station 2 is cut more than once"),
    ((10, 14, 7), "")])
def test_without_a_plan_each_station_is_held_against_what_most_are_cut(
    along: tuple[int, ...], said: str
) -> None:
    pieces = [one for station, far in enumerate(along, 1) for one in at(
        station, ("rapid", 0, 0, 12), ("line", far, 0, None))]
    found = {str(one.id): one for one in prove_stations(gathered(pieces, CLAMPED, (0, 0, 12.0)))}
    # Only here are zeros named as the machine file has them.
    where = re.sub(r" \(G\d+\)", "", found["motion.stations"].where)
    assert where == (said and f"{said} by cutter 1")


@pytest.mark.parametrize("height", [2.9, 3.5])
@pytest.mark.parametrize("station", [1, 2, 3])
def test_a_rapid_over_a_clamp_is_held_against_its_height_there(
    height: float, station: int
) -> None:
    over = [("rapid", 0, 0, height), ("rapid", 20, 0, height), ("rapid", 20, 0, 12)]
    pieces = [one for number in (1, 2, 3)
              for one in at(number, *down(0.0), *(over if number == station else []))]
    assert any(one.id.word == "clamps" for one in failing(pieces, CLAMPED)) == (height < 3.0)


@pytest.mark.parametrize("way", ["line", "rapid"])
@pytest.mark.parametrize(("y", "height", "holds"), [
    (8.9, -4.9, True), (8.9, -5.0, False), (8.9, -5.1, False), (9.1, -5.1, True)])
def test_a_collet_is_looked_at_all_along_its_way(
    way: str, y: float, height: float, holds: bool
) -> None:
    """Both ends lie beside the clamp, and the collet passes over its edge in between.

    It is 10 mm wide and 8 mm up; the clamp ends at Y 4 and is 3 mm high. To touch it is too low.
    """
    pieces: list[Piece] = [("rapid", -10, y, height), (way, 30, y, height), ("rapid", 30, y, 12),
                           ("line", 30, y, 11)]
    found = [one for one in failing(pieces, CLAMPED, start=(-10.0, y, 12.0))
             if one.id.word == "collet-and-clamps"]
    assert bool(found) != holds
