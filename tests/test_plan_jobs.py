"""Whole jobs planned: order, sameness, and faults with their places."""

from __future__ import annotations

import pytest
from workshop import BLANKS, DRIVEN, TEETH, WHEEL, blanks, read, teeth

from camgen.faults import Refused
from camgen.layout import FlatLayout, flat_layout
from camgen.plan import plan_job
from camgen.shop.machine import Machine
from camgen.steps import STEPS

STEP_LINES = """
      - spot: {cutter: spot}
      - drill: {cutter: drill}
      - bore: {cutter: mill, drilled: 0.6}
      - cross-out: {cutter: mill}
      - outline: {cutter: mill}
"""
WHOLE = WHEEL + BLANKS % "true" + STEP_LINES + TEETH.replace("\nsetups:\n", "") % ("touch", "")


def test_setups_and_steps_come_in_the_order_of_the_job() -> None:
    plan = plan_job(read(WHOLE), DRIVEN)
    assert [setup.name for setup in plan.setups] == ["blanks", "teeth"]
    assert [section.title for section in plan.setups[0].moves.sections] == [
        "spot", "drill", "bore", "cross out", "outline"
    ]
    for setup in plan.setups:
        assert len(setup.cuts) == len(setup.moves.sections)
        assert [section.step for section in setup.moves.sections] == list(
            range(len(setup.setup.steps))
        )


def test_the_same_job_gives_the_same_plan() -> None:
    one, two = (plan_job(read(WHOLE), DRIVEN) for _ in range(2))
    assert [s.moves for s in one.setups] == [s.moves for s in two.setups]
    assert [s.cuts for s in one.setups] == [s.cuts for s in two.setups]


def test_starting_again_at_a_space_leaves_the_blanks_alone() -> None:
    plan = plan_job(read(WHOLE), DRIVEN, from_space=12)
    assert [setup.name for setup in plan.setups] == ["teeth"]
    flat_only = WHEEL + BLANKS % "true" + STEP_LINES
    with pytest.raises(Refused, match="no setup cuts teeth"):
        plan_job(read(flat_only), DRIVEN, from_space=12)


def test_all_faults_are_told_at_once_each_with_its_line() -> None:
    text = WHOLE.replace("cut-into: 0.4", "cut-into: 0.0").replace(
        "- spot: {cutter: spot}", "- spot: {cutter: mill}"
    )
    with pytest.raises(Refused) as no:
        plan_job(read(text), DRIVEN)
    lines = text.splitlines()
    for fault in no.value.faults:
        assert fault.place.file == "wheel.yaml"
        assert fault.remedy
        step = fault.place.path.split(".")[2]
        assert step in lines[fault.place.line - 1]
    told = "\n".join(fault.message for fault in no.value.faults)
    for words in ("`spot` cannot be done with", "going right through"):
        assert words in told
    assert len(no.value.faults) >= 5


def test_steps_in_a_setup_of_the_wrong_kind_are_refused() -> None:
    flat_on_head = WHOLE.replace("- cut-teeth: {cutter: teeth}", "- drill: {cutter: drill}")
    with pytest.raises(Refused, match="flat work"):
        plan_job(read(flat_on_head), DRIVEN)
    teeth_on_flat = WHOLE.replace("- spot: {cutter: spot}", "- cut-teeth: {cutter: teeth}")
    with pytest.raises(Refused, match="needs the dividing head"):
        plan_job(read(teeth_on_flat), DRIVEN)


def test_a_machine_without_a_dividing_head_cuts_no_teeth() -> None:
    bare = Machine(name="bare", describes="a mill with nothing on its table")
    with pytest.raises(Refused, match="no dividing head") as no:
        plan_job(read(WHOLE), bare)
    assert no.value.faults[0].place.line > 0


def test_an_unknown_material_is_a_fault_of_its_line() -> None:
    with pytest.raises(Refused) as no:
        plan_job(read(WHOLE.replace("material: brass", "material: brassy-thing")), DRIVEN)
    assert no.value.faults[0].place.path == "material"
    assert no.value.faults[0].place.line == 3


@pytest.mark.parametrize(
    ("zero", "corner"),
    [
        ("{x: centre, y: centre}", (-30, -15, 30, 15)),
        ("{x: left, y: front}", (0, 0, 60, 30)),
        ("{x: right, y: back}", (-60, -30, 0, 0)),
    ],
)
def test_pieces_lie_about_the_middle_of_the_stock_wherever_the_zero_is(
    zero: str, corner: tuple[float, float, float, float]
) -> None:
    text = (WHEEL + BLANKS % "true" + STEP_LINES).replace(
        "    repeat:", f"    zero: {zero}\n    repeat:"
    )
    job = read(text).job
    layout = flat_layout(job, job.flat[0])
    assert layout.stock.bounds == corner
    middle = layout.stock.centroid
    xs = [x - middle.x for x, _ in layout.places]
    ys = [y - middle.y for _, y in layout.places]
    assert sorted(set(xs)) == [-6.5, 6.5]
    assert sorted(set(ys)) == [-6.5, 6.5]


def test_the_blanks_outline_is_the_tip_circle_or_the_larger_turned_blank() -> None:
    layout = blanks("spot: {cutter: spot}").layout
    assert isinstance(layout, FlatLayout)
    assert layout.part.outline.lengths[0] == pytest.approx(3.14159265 * 10.949 / 2, abs=1e-3)
    larger = WHOLE.replace("arbor: 4", "arbor: 4, blank: 11.2")
    layout = plan_job(read(larger), DRIVEN).setups[0].layout  # type: ignore[assignment]
    assert layout.part.outline.lengths[0] == pytest.approx(3.14159265 * 11.2 / 2, abs=1e-6)


def test_cutters_keep_their_numbers_from_setup_to_setup() -> None:
    numbers = {
        (section.cutter, section.cutter_number)
        for setup in plan_job(read(WHOLE), DRIVEN).setups
        for section in setup.moves.sections
    }
    assert len(numbers) == len({cutter for cutter, _ in numbers}) == 4


def test_a_speed_asked_for_is_kept() -> None:
    section = teeth("speed: 1500, feed: 90").moves.sections[0]
    assert section.rpm == 1500
    feeds = {move.feed for move in section.moves if hasattr(move, "feed")}
    assert feeds == {90}


def test_every_kind_of_step_is_registered_under_its_own_word() -> None:
    for word, kind in STEPS.items():
        assert kind.kind == word == kind.words.kind
        assert kind.words.__doc__
