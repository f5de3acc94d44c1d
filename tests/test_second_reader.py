"""Every program from any start: a second reader that shares no code finds nothing touched.

A few jobs on every machine file from a sample of starts; the long run takes every demo job on every
machine file from every start. A zero left shifted by G92 no word of ISO 6983 takes back: message or
sheet tell to set every axis anew at the first stop.
"""

from __future__ import annotations

import itertools
import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from planting.harness import made
from sampling import sampled
from second_control import Control, Start, Trace, control
from second_reader import run

from camgen.faults import Refused
from camgen.shipped import demo_jobs

TOP = Path(__file__).resolve().parent.parent
POSTS = sorted(path.stem for path in (TOP / "postprocessors").glob("*.yaml"))
JOBS = [path.stem for path in demo_jobs()]
FEW = ("seconds-pinion", "wheel-by-hand")
SEED = 20261130
# In metal, somewhere over or beside the work, and far away, along each axis.
ALONG = (-0.5, 4.0, 40.0)


def written(job: str, post: str) -> Iterator[tuple[str, str, Control]]:
    """Every program of a job on a machine file: its name, its text and the control it is for."""
    for programs in made(TOP / "jobs" / f"{job}.yaml", post):
        moves = programs.planned.moves
        outward = 1.0 if moves.retract_axis == "Z" or moves.retract_to > 0 else -1.0
        on = control(TOP / "postprocessors" / f"{post}.yaml", moves.retract_axis, outward,
                     moves.retract_to)
        for number, text in enumerate(programs.texts):
            yield f"{programs.name}, program {number + 1}", text, on


def places(on: Control) -> list[tuple[float, float, float]]:
    """Each axis at three places; along the infeed of a head metal may lie on the other side."""
    found = []
    for place in itertools.product(ALONG, repeat=3):
        one = list(place)
        one[on.back] *= on.outward
        found.append((one[0], one[1], one[2]))
    return found


def modes(on: Control) -> list[tuple[str, ...]]:
    """Words that someone may have left in force, as far as the control has them.

    A control has a mode that its machine file writes, or ends among its safe words.
    """
    safe = on.safe_words
    found: list[tuple[str, ...]] = [(), ("G91",), ("G1",), ("G2",), ("G3",)]
    if on.word("program", "units-word", default=True):
        found.append(("G21",) if on.inch else ("G20",))
    if on.word("program", "plane-word", default=True):
        found += [("G18",), ("G19",)]
    if on.says("offsets", "work", default="G54"):
        found += [("G55",), ("G59",), ("G55", "G91", "G18")]
    if "G49" in safe:
        found.append(("G43",))
    if "G40" in safe:
        found += [("G41",), ("G42",)]
    if "G80" in safe or on.word("cycles", "use"):
        found += [("G81",), ("G83", "G91")]
    if "G94" in safe or on.word("rotary", "turn") == "inverse-time":
        found += [("G93",), ("G95",)]
    if on.word("arcs", "centre-mode-words"):
        found += [("G91.1",), ("G90.1",)]
    if "G61" in safe or "G64" in safe:
        found.append(("G64",))
    if on.word("cycles", "use"):
        found.append(("G99",))
    return found


def starts(on: Control) -> list[Start]:
    """Every start: place, spindle, coolant, what is in force, what a stop ends, blocks skipped."""
    wet = bool(on.word("coolant", "flood") or on.word("coolant", "air"))
    found = [
        Start(f"at {place}, {' '.join(words) or 'nothing'} left on, spindle {spindle}",
              place, words, spindle=spindle, coolant=spindle and wet)
        for place in places(on) for words in modes(on) for spindle in (False, True)
    ]
    found += [
        Start(f"at {place}, a stop ends the spindle {ends}, marked blocks left out {skip}",
              place, stop_ends=ends, skip=skip)
        for place in places(on)[::5] for ends in (False, True) for skip in (False, True)
    ]
    shift = on.word("offsets", "shift")
    if shift or on.word("offsets", "stands-at"):
        found += [Start(f"at {place}, zero left shifted", place, shift=5.0)
                  for place in places(on)[::3]]
    return found


def other(text: str, on: Control, start: Start, measure: Trace) -> list[str]:
    """What this start touches, or makes otherwise than the measure."""
    whole = start.stop_ends or start.skip
    trace = run(text, on, start, None if whole else measure)
    told = list(trace.touched)
    for n, (a, b) in enumerate(zip(trace.moves, measure.moves, strict=False)):
        if a != b:
            told.append(f"line {b[0]}: {a[1:]} instead of {b[1:]}, move {n + 1}")
            break
    return told


def tried(job: str, post: str, some: int | None) -> list[str]:
    """What is touched by the programs of a job, from ``some`` of the starts or all."""
    told = []
    for name, text, on in written(job, post):
        measure = run(text, on, Start())
        assert len(measure.moves) > 4, f"{name}: nothing is run"
        told += [f"{name}, from where it should be: {one}" for one in measure.touched]
        drawn = starts(on)
        if some is not None:
            drawn = random.Random(f"{SEED} {name}").sample(drawn, some)
        for start in drawn:
            told += [f"{name}, {start.name}: {one}"
                     for one in other(text, on, start, measure)[:1]]
    return told


@pytest.mark.parametrize("post", sampled(POSTS, 12))
def test_nothing_is_touched_from_a_sample_of_starts(post: str) -> None:
    for job in FEW:
        told = tried(job, post, 8)
        assert not told, f"{len(told)}:\n" + "\n".join(told[:12])


@pytest.mark.parametrize("post", ["small-memory", "numbers-without-point"])
def test_a_zero_left_shifted_is_made_harmless_before_anything_moves(post: str) -> None:
    for name, text, on in written("seconds-pinion", post):
        measure = run(text, on, Start())
        shifted = [start for start in starts(on) if start.shift]
        assert len(shifted) == 9
        for start in shifted:
            assert not other(text, on, start, measure), f"{name}, {start.name}"
        # Without the stop or the word that sets the zero it is found.
        without = re.sub(r"M0+\r\n" if post == "small-memory" else r"G92[^\r]*", "", text, count=1)
        assert without != text
        assert all(other(without, on, start, measure) for start in shifted)


@pytest.mark.long
@pytest.mark.parametrize("post", POSTS)
@pytest.mark.parametrize("job", JOBS)
def test_nothing_is_touched_from_any_start(job: str, post: str) -> None:
    try:
        told = tried(job, post, None)
    except Refused:
        pytest.skip("the job cannot be made on this machine")
    assert not told, f"{len(told)}:\n" + "\n".join(told[:12])
