"""What is long is made where a run asks for it, and a sample is one of so many."""

from __future__ import annotations

import pytest
from sampling import Run, sampled, taken


@pytest.mark.parametrize("long", [False, True])
def test_long_cases_are_made_where_a_run_asks_for_them(
    long: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Run, "long", long)
    cases = sampled("abcdefg", 3, 1, ids="1234567")
    short = [(case.values, case.id) for case in cases if not case.marks]
    assert short == [(("b",), "2"), (("e",), "5")]
    assert len(cases) == (7 if long else 2)
    by_hand = ["plain", pytest.param("x", marks=pytest.mark.long), pytest.param("y")]
    assert taken(by_hand) == (by_hand if long else [by_hand[0], by_hand[2]])


def test_the_default_run_leaves_out_what_is_long(request: pytest.FixtureRequest) -> None:
    assert Run.long == ("not long" not in request.config.option.markexpr)
