"""Passes asked for when teeth are cut: thick enough to be cut, and planned for their depth."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import DRIVEN, TEETH, WHEEL, read, teeth

from camgen.cutting.chips import peak_chip_share
from camgen.faults import Refused
from camgen.plan import PlannedSetup
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather
from camgen.reader import read_program


def depths(planned: PlannedSetup) -> list[float]:
    (said,) = [one for one in planned.remarks if " pass" in one and " to " in one]
    return [float(word) for word in said.split(" to ")[1].removesuffix(" mm").split(", ")]


def refusal(words: str) -> str:
    try:
        teeth(words)
    except Refused as no:
        faults = no.faults
    else:
        return ""
    assert all(fault.place.line > 0 and fault.remedy for fault in faults)
    return " ".join(f"{fault.message} {fault.remedy}" for fault in faults)


@settings(max_examples=15, deadline=None)
@given(st.integers(2, 12), st.floats(0.0005, 0.44))
def test_every_pass_is_planned_for_its_depth_or_refused(passes: int, last: float) -> None:
    last = round(last, 4)
    words = f"passes: {passes}, last-cut: {last}"
    refused = refusal(words)
    if refused:
        assert "last-cut" in refused or "pass" in refused
        return
    planned = teeth(words)
    (cut,) = planned.cuts
    steps = [b - a for a, b in itertools.pairwise([0.0, *depths(planned)])]
    # Depths are told to a thousandth.
    assert max(steps) <= cut.depth + 0.0011
    # A tenth of a thousandth of a mm is rubbed by every edge, run-out or not.
    assert 14 * cut.chip_load * peak_chip_share(last, 20.0) >= 0.0003


def test_a_first_pass_deeper_than_its_equals_is_fed_as_one_so_deep() -> None:
    """Two passes and a last cut of 0.02: the first takes 0.424, and not the half it was fed for."""
    equal, uneven, one = (teeth(words).cuts[0] for words in
                          ("passes: 2", "passes: 2, last-cut: 0.02", "passes: 1"))
    assert uneven.depth == one.depth > equal.depth
    assert uneven.feed == one.feed


@pytest.mark.parametrize("word", ["last-cut", "trial-short"])
def test_the_least_pass_at_its_ends(word: str) -> None:
    rest = "passes: 2" + (", trial-spaces: 3" if word == "trial-short" else "")
    refused = refusal(f"{rest}, {word}: 0.0001")
    assert "too thin to be cut" in refused
    good = refused.split(f"{word}: ")[1].split()[0]
    assert 0.001 <= float(good) <= 0.02
    assert refusal(f"{rest}, {word}: {good}") == ""
    assert "too thin" in refusal(f"{rest}, {word}: {float(good) - 0.0011:.4f}")
    planned = teeth(f"{rest}, {word}: {good}")
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(planned.moves, DRIVEN, stem="wheel")]
    text = WHEEL + TEETH % ("touch", f", {rest}, {word}: {good}")
    evidence = gather(planned.name, read(text).job, DRIVEN, planned.layout, planned.moves,
                      programs, planned_cuts=planned.cuts)
    assert [str(proof.id) for proof in each_proof(evidence) if not proof.holds] == []


@pytest.mark.parametrize(("words", "said"), [
    ("passes: 1, last-cut: 0.05", "no last cut of its own"),
    ("passes: 2, last-cut: 0.45", "whole depth"),
    ("passes: 2, trial-spaces: 3, trial-short: 0.4", "above the place where a tooth is measured"),
    ("passes: 2, trial-spaces: 3, trial-short: 0.5", "not cut at all"),
])
def test_what_cannot_be_meant_is_refused(words: str, said: str) -> None:
    assert said in refusal(words)
