"""Which words of a machine file keep a job from being proved is found by trying."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from demos import proved_demo

from camgen.make.causes.machine_words import machine_word_faults
from camgen.shop.machine import Machine

ODD = Machine.model_validate({
    "name": "odd", "describes": "odd", "x": {"travel": 77, "increment": 0.002},
    "numbers": {"decimals": 4, "plus": True}, "arcs": {"style": "radius", "quadrants": True},
    "program": {"units": "inch"}, "block-skip": True,
})


def blamed(holds: Callable[[Machine], bool]) -> list[str]:
    failed = [proved_demo("seconds-pinion").proofs[0]]
    return [str(fault) for fault in machine_word_faults(ODD, failed, holds)]


@pytest.mark.parametrize(("holds", "named", "usual"), [
    (lambda on: on.program.units == "mm", "program.units: inch", "program.units: mm"),
    (lambda on: on.x.increment == 0.001, "x.increment: 0.002", "x.increment: 0.001"),
    (lambda on: not on.block_skip, "block-skip: true", "block-skip: false"),
    # Only as long as the rest is as it is: with every word as usual it does not hold either.
    (lambda on: on.arcs.style != "radius" and on.x.travel == 77, "arcs.style: radius",
     "arcs.style: incremental"),
])
def test_the_one_word_is_named_with_its_usual_value(
    holds: Callable[[Machine], bool], named: str, usual: str
) -> None:
    (told,) = blamed(holds)
    assert f"with {named} in machine file odd" in told
    assert f"with {usual} it is" in told


def test_words_that_only_together_are_the_cause_are_named_together() -> None:
    (told,) = blamed(lambda on: not on.numbers.plus and on.program.units == "mm")
    assert "with numbers.plus: true, program.units: inch in" in told


def test_what_fails_on_any_machine_is_no_word_of_this_one() -> None:
    assert blamed(lambda on: False) == []


def test_where_all_proofs_hold_nothing_is_tried() -> None:
    assert machine_word_faults(ODD, [], lambda on: pytest.fail("tried")) == ()


def test_figures_of_more_places_come_before_other_words_and_limits_are_never_named() -> None:
    (told,) = blamed(lambda on: on.numbers.feed_decimals >= 2 or on.program.units == "mm")
    assert "with numbers.feed-decimals: 1 in machine file odd" in told
    assert "with numbers.feed-decimals: 3 it is" in told
    assert blamed(lambda on: on.x.travel == 200) == []
