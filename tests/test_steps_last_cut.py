"""Passes asked for when teeth are cut: thick enough to be cut, and planned for their depth."""

from __future__ import annotations

import itertools
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few, sampled
from workshop import DRIVEN, TEETH, WHEEL, arranged, read, teeth

from camgen.cutting.chips import peak_chip_share
from camgen.faults import Refused
from camgen.layout import ToothLayout
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import each_proof, gather
from camgen.reader import read_program
from camgen.shop.machine import SignedAxis


def depths(planned: PlannedSetup) -> list[float]:
    (said,) = [one for one in planned.remarks if " pass" in one and " to " in one]
    return [float(word) for word in said.split(" to ")[1].removesuffix(" mm").split(", ")]


def laid(planned: PlannedSetup) -> ToothLayout:
    assert isinstance(planned.layout, ToothLayout)
    return planned.layout


def refusal(words: str) -> str:
    try:
        teeth(words)
    except Refused as no:
        faults = no.faults
    else:
        return ""
    assert all(fault.place.line > 0 and fault.remedy for fault in faults)
    return " ".join(f"{fault.message} {fault.remedy}" for fault in faults)


@settings(max_examples=few(15), deadline=None)
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


@settings(max_examples=few(48), deadline=None)
@given(passes=st.sampled_from([None, 2, 3, 5, 9]), share=st.floats(0.05, 0.99))
def test_a_last_cut_is_no_deeper_than_those_before_it_or_refused(
        passes: int | None, share: float) -> None:
    """Passes that only rub and a last that takes nearly all: the word itself is refused."""
    last = round(0.444 * share, 3)
    words = (f"passes: {passes}, " if passes else "") + f"last-cut: {last}"
    refused = refusal(words)
    if "deeper than those before it" in refused:
        good = refused.split("last-cut: ")[1].split()[0]
        assert refusal(words.replace(f"last-cut: {last}", f"last-cut: {good}")) == ""
        assert last > float(good)
        return
    if not refused:
        steps = [b - a for a, b in itertools.pairwise([0.0, *depths(teeth(words))])]
        assert steps[-1] <= max(steps[:-1]) + 0.0021


@pytest.mark.parametrize(("over", "passes", "zero", "arrangement"), sampled(product(
    [0.0, 0.02, 0.1], [1, 2, 3, 6], ["touch", "axis"], [None, ("+X", "-Y", "Z")]), 30))
def test_metal_begins_at_the_outside_of_a_larger_blank(
        over: float, passes: int, zero: str,
        arrangement: tuple[SignedAxis, SignedAxis, SignedAxis] | None) -> None:
    """Passes are shared, planned and proved from where metal is; zero is where the sheet says."""
    machine = DRIVEN if arrangement is None else arranged(*arrangement)
    text = WHEEL + TEETH % (zero, f", passes: {passes}")
    tip = laid(plan_job(read(text), machine).setups[0]).tooth.sizes.tip_diameter
    text = text.replace("dividing: {", f"dividing: {{blank: {tip + 2 * over:.4f}, ", 1)
    planned = plan_job(read(text), machine).setups[0]
    layout = laid(plan_job(read(text), machine).setups[0])
    whole = layout.tooth.sizes.whole_depth
    (cut,) = planned.cuts
    assert cut.depth == pytest.approx((whole + over) / passes, abs=1e-4)
    assert depths(planned)[-1] == pytest.approx(whole, abs=0.001)
    programs = [read_program(one.text, machine, one.file)
                for one in write_programs(planned.moves, machine, stem="wheel")]
    evidence = gather(planned.name, read(text).job, machine, planned.layout, planned.moves,
                      programs, planned_cuts=planned.cuts)
    proofs = list(each_proof(evidence))
    (one,) = [proof for proof in proofs if proof.id.word == "pass-depth"]
    assert one.holds
    assert one.figure == pytest.approx((whole + over) / passes, abs=0.002)
    said = [note for note in planned.remarks if "where the cutter touches it" in note]
    if zero == "axis" or not over:
        assert not said
        assert layout.touched_at == 0
    else:
        sign = 1 if layout.arrangement.infeed[0] == "-" else -1
        assert layout.touched_at == pytest.approx(sign * over, abs=1e-4)
        assert f"{layout.touched_at:.3f}" in said[0]
        program = write_programs(planned.moves, machine, stem="wheel")[0].text.decode()
        assert f"{layout.arrangement.infeed[1]}{layout.touched_at:.3f}" in program
