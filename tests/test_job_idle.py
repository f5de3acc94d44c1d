"""Steps that find nothing left to cut, by the order of their words; and what is only partly so."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few
from workshop import DRIVEN, read

from camgen.faults import Fault
from camgen.job.checks.whole_job import job_faults
from camgen.job.order.deeds import deeds_of
from camgen.job.order.idle import _Finished
from camgen.part.declaration import Correction, LeavesSkin
from camgen.plan import plan_job

PLATE = """
job: order of words
material: brass
plate:
  thickness: 2.0
  outline: {rectangle: [20, 14], corner: 2}
  holes:
    dowels: {diameter: 1.2, at: [[-8, -5], [8, -5]]}
    one: {diameter: 1.2, at: [[2, 2]]%s}
  pockets: {bay: {circle: 4, at: [-4, 1], depth: 0.6}}
cutters:
  cone: {kind: spot-drill, diameter: 2.0, point-angle: 90, reach: 6}
  sink: {kind: countersink, diameter: 3.0, flutes: 3, reach: 8}
  d12: {kind: drill, diameter: 1.2, flute-length: 8, reach: 10}
  d08: {kind: drill, diameter: 0.8, flute-length: 8, reach: 10}
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 3, reach: 4}
  head: {kind: counterbore, diameter: 2.4, flutes: 3, flute-length: 4, reach: 8}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 2.0}
    holding: &wax {by: wax, carrier: brass, carrier-thickness: 6, cut-into: 2.5, holds-slugs: true}
    steps:
      - drill: {cutter: d12, holes: [dowels]}
"""
END = "      - pocket: {cutter: mill}\n      - outline: {cutter: mill}\n"
UNDER = """  - name: back
    face: under
    turned-over: about Y
    stock: {left-by: top, thickness: 2.0}
    zero: {dowel: dowels-1}
    holding: *wax
    steps:
"""
SPOT = "spot: {cutter: cone, holes: [one]}"
DRILL = "drill: {cutter: d12, holes: [one]}"
PILOT = "drill: {cutter: d08, holes: [one]}"
BORE = "bore: {cutter: mill, holes: [one]}"
SINK = "countersink: {cutter: sink}"
HEAD = "counterbore: {cutter: head, holes: [one-counterbore]}"


def job(*steps: str, hole: str = "", under: tuple[str, ...] = (), end: str = END) -> str:
    text = PLATE % hole + "".join(f"      - {step}\n" for step in steps) + end
    return text + (UNDER + "".join(f"      - {step}\n" for step in under) if under else "")


def idle(text: str) -> list[Fault]:
    return [one for one in job_faults(read(text), DRIVEN) if "nothing to cut" in one.message]


# What does its work in this order: any two of it the other way round, and the second is idle or
# not, by what it makes.
RIGHT = {
    (SPOT, DRILL): True, (SPOT, BORE): True, (SPOT, PILOT): False, (PILOT, BORE): True,
    (PILOT, DRILL): True, (SPOT, HEAD): True,
}


@pytest.mark.parametrize(("pair", "wrong"), RIGHT.items(),
                         ids=[" ".join(one.split(":")[0] for one in pair) for pair in RIGHT])
def test_two_steps_the_wrong_way_round_are_named(pair: tuple[str, str], wrong: bool) -> None:
    hole = ", counterbore: {diameter: 2.4, depth: 0.7}" if HEAD in pair else ""
    rest = [DRILL] if pair == (SPOT, HEAD) else []
    assert idle(job(pair[0], *rest, pair[1], hole=hole)) == []
    found = idle(job(*rest, *pair[::-1], hole=hole))
    assert bool(found) == wrong
    if found:
        (fault,) = found
        kind = pair[0].split(":")[0]
        assert fault.message.startswith(f"{kind} finds nothing to cut at one: step 2 of top, ")
        assert fault.place.path == f"setups[0].steps[{2 + len(rest)}].{kind}"
        assert fault.remedy == "put it before that step, or leave it out"


@pytest.mark.parametrize("again", [SPOT, DRILL, BORE, PILOT])
@pytest.mark.parametrize("first", [DRILL, BORE])
def test_in_a_hole_of_its_size_nothing_is_left_from_the_same_face(first: str, again: str) -> None:
    assert len(idle(job(first, again))) == 1


@pytest.mark.parametrize("first", [DRILL, BORE])
def test_from_the_other_face_a_spot_or_bore_finds_nothing_and_a_drill_the_carrier(
    first: str
) -> None:
    for again in (SPOT, BORE):
        (fault,) = idle(job(first, under=(again,)))
        assert fault.place.path.startswith("setups[1].steps[0]")
    assert idle(job(first, under=(DRILL,))) == []
    # A drill that goes on deeper into what lies beneath is none too many.
    assert idle(job(DRILL, DRILL.replace("}", ", depth: 3.0}"))) == []
    assert len(idle(job(DRILL.replace("}", ", depth: 3.0}"), DRILL))) == 1


def test_a_cone_is_sunk_once_and_a_wall_is_gone_round_once() -> None:
    sunk = ", countersink: 2.0"
    assert idle(job(DRILL, SINK, hole=sunk)) == []
    (fault,) = idle(job(DRILL, SINK, SINK, hole=sunk))
    assert fault.message.startswith("countersink finds nothing to cut at one: step 3 of top")
    (fault,) = idle(job(DRILL, end=END + "      - outline: {cutter: mill}\n"))
    assert fault.message.startswith("outline finds nothing to cut at outline")
    # What the first left on purpose is there to be cut.
    left = END.replace("outline: {cutter: mill}", "outline: {cutter: mill, correction: 0.03}")
    assert idle(job(DRILL, end=left + "      - outline: {cutter: mill}\n")) == []


@pytest.mark.parametrize(("deep", "nothing"), [(0.3, True), (0.59, True), (0.7, False)])
def test_a_spot_over_a_pocket_cut_before_is_in_air(deep: float, nothing: bool) -> None:
    """The pocket is 0.6 mm deep and four wide: a cone less deep does not reach its floor."""
    spot = f"spot: {{cutter: cone, holes: [one], depth: {deep}}}"
    text = job("pocket: {cutter: mill}", spot, "drill: {cutter: d12, holes: [one]}",
               end="      - outline: {cutter: mill}\n").replace("at: [[2, 2]]", "at: [[-4, 1]]")
    assert bool(idle(text)) == nothing


def test_where_only_some_holes_are_made_already_it_is_a_note() -> None:
    text = job("drill: {cutter: d12}")
    assert idle(text) == []
    note = "drill: finds nothing to cut at dowels, which drill has taken before"
    assert note in plan_job(read(text), DRIVEN).setups[0].notes


def test_what_comes_from_elsewhere_is_not_known_to_be_open() -> None:
    text = job(SPOT, end=END).replace("plate:\n", "made-elsewhere: [one]\nplate:\n", 1)
    assert idle(text) == []


@pytest.mark.parametrize("order", list(itertools.permutations([SPOT, PILOT, DRILL])),
                         ids=lambda order: " ".join(one[:12] for one in order))
def test_in_every_order_of_three_what_comes_after_its_like_is_told(order: tuple[str, ...]) -> None:
    """A pilot after a spot still opens, a spot after a pilot still cuts; after the drill, none."""
    found = {fault.place.path.split(".")[1] for fault in idle(job(*order))}
    full = order.index(DRILL)
    assert found == {f"steps[{number + 1}]" for number in range(full + 1, 3)}


READ = read(job())


@given(st.lists(st.tuples(st.sampled_from([0.6, 0.8, 1.0, 1.5]),
                          st.sampled_from([-0.02, -0.01, 0.0, 0.01]), st.booleans()), max_size=8))
@settings(max_examples=few(40), deadline=None)
def test_who_finished_a_wall_first_is_found_as_by_asking_each(
    said: list[tuple[float, float, bool]],
) -> None:
    """The plain way: all steps before, from the first."""
    *_, last = deeds_of(READ.job)
    assert last.cutter is not None
    cutters = {wide: last.cutter.model_copy(update={"diameter": wide}) for wide, _, _ in said}
    deeds = [
        replace(last, step=number, cutter=cutters[wide],
                says=replace(last.says, leaves=(LeavesSkin(0.1),) if skin else (),
                             corrections=(Correction("more", added, "wall", 0.1),)))
        for number, (wide, added, skin) in enumerate(said)]
    finished = _Finished()
    for count, deed in enumerate(deeds):
        plain = next((one for one in deeds[:count]
                      if not one.says.leaves and one.cutter and deed.cutter
                      and one.cutter.diameter <= deed.cutter.diameter
                      and one.says.added("wall") <= deed.says.added("wall")), None)
        assert finished.before(deed) is plain
        finished.add(deed)
