"""A plan never fails its own proof: random plates are proved, or refused in words of the job.

Of 150 plates the default run takes one in seven, the long run all of them and 2000 more in parts.
Of one in ten that is made the heights are reckoned from the text of its programs alone.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml
from heights_from_text import amiss
from random_plates import KINDS, random_plate
from sampling import sampled

from camgen.faults import Fault, Refused
from camgen.make.chain import Proved, proved_job
from camgen.shop.machines import machine_names

PLATES, MANY, PART = 150, 2000, 20
TENTH = 10
MACHINES = machine_names()


def made(number: int, folder: Path, post: str = "") -> Proved | None:
    """The plate of that number through the whole chain, for the machine file of that name or the
    usual one; None where its words are refused.

    A refusal names its line in the job or machine file and what to do; no proof fails.
    """
    _, text = random_plate(number)
    path = folder / f"plate-{number}.yaml"
    path.write_text(f"{text}post: {post}\n" if post else text)
    faults: tuple[Fault, ...] = ()
    done = None
    try:
        done = proved_job(path)
    except Refused as no:
        faults = no.faults
    assert (done is None) == bool(faults)
    for fault in faults:
        # A word of the machine file may be the cause too, such as its coarse increments.
        assert fault.place.file.endswith((path.name, f"{post or path.stem}.yaml")), fault
        assert fault.place.line, fault
        assert fault.message, fault
        assert fault.remedy, fault
    assert done is None or not done.failed, text
    return done


def looked_at(number: int, folder: Path) -> bool:
    """Whether a plate was made; of one in ten what stands then is what its words say."""
    done = made(number, folder)
    if done is None or number // len(KINDS) % TENTH:
        return done is not None
    job = yaml.safe_load(random_plate(number)[1])
    for place, setup in enumerate(done.setups):
        assert amiss(job, [one.text.decode() for one in setup.programs], place) == []
    return True


@pytest.mark.parametrize("number", sampled(range(PLATES), 7, single=True))
def test_a_plate_is_proved_or_refused_in_words_of_the_job(number: int, tmp_path: Path) -> None:
    looked_at(number, tmp_path)


# A pocket that took minutes; a last line shorter than an increment, before the way up; a last pass
# that begins beyond an open side, where a corner was left standing.
@pytest.mark.parametrize("number", [1300, 1399, 1563])
def test_a_plate_that_once_failed_is_proved_or_refused(number: int, tmp_path: Path) -> None:
    made(number, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("first", range(PLATES, PLATES + MANY, PART))
def test_many_plates_are_proved_or_refused(first: int, tmp_path: Path) -> None:
    outcomes = [looked_at(number, tmp_path) for number in range(first, first + PART)]
    # No kind of plate is refused whatever its numbers are.
    assert any(outcomes)


@pytest.mark.parametrize(("place", "machine"), sampled(enumerate(MACHINES), 4, 2))
def test_plates_on_the_other_machine_files(place: int, machine: str, tmp_path: Path) -> None:
    """Two plates, of other kinds on each: proved, or refused in words of the job."""
    for more in (6, 16):
        made(37 * place + more, tmp_path, machine)


@pytest.mark.long
@pytest.mark.parametrize(("place", "machine"), list(enumerate(MACHINES)))
def test_many_plates_on_the_other_machine_files(
    place: int, machine: str, tmp_path: Path
) -> None:
    outcomes = [made(2000 + 60 * place + more, tmp_path, machine) for more in range(60)]
    assert any(outcomes)


def test_the_same_number_is_the_same_plate() -> None:
    assert random_plate(41) == random_plate(41)
    assert len({random_plate(number)[1] for number in range(40)}) == 40


def test_a_gouge_and_metal_left_are_seen_by_heights_from_the_text(tmp_path: Path) -> None:
    """The unharmed program first; then a cut 3 µm too wide, too deep, and one 12 µm short."""
    job = yaml.safe_load(random_plate(7)[1])
    job["plate"] = {"thickness": 1.0, "outline": {"circle": 8}, "pockets": {
        "seat": {"circle": 3, "depth": 0.3}}}
    job["setups"][0]["stock"] = {"sheet": [20, 20], "thickness": 1.0}
    job["cutters"] = {"mill": {"kind": "end-mill", "diameter": 1, "flutes": 2, "flute-length": 2,
                               "reach": 3}}
    job["setups"][0]["steps"] = [{"pocket": {"cutter": "mill"}}]
    path = tmp_path / "seat.yaml"
    path.write_text(yaml.safe_dump(job))
    done = proved_job(path)
    assert not done.failed
    (program,) = done.setups[0].programs
    text = program.text.decode()
    assert amiss(job, [text]) == []
    wide = "\nG1 X0. Y1.003 Z-0.3\nG2 X0. Y1.003 I0. J-1.003\n"
    deep = "\nG1 X0. Y0.5 Z-0.303\nG2 X0. Y0.5 I0. J-0.5\n"
    end = text.rindex("M5")
    for harm in (wide, deep):
        found = amiss(job, [text[:end] + harm + text[end:]])
        assert found
        assert all(one.startswith("gone") for one in found)
    for depth in (-0.288, -0.2):
        short = text.replace("Z-0.3\n", f"Z{depth}\n").replace("Z-0.3 ", f"Z{depth} ")
        found = amiss(job, [short])
        assert any(one.startswith("left") for one in found)
    narrow = text
    for word in set(re.findall(r"[XYIJ]-?1\.(?=\s)|[XYIJ]-?1\.$", text, re.MULTILINE)):
        narrow = narrow.replace(f"{word}\n", f"{word[:-2]}0.988\n").replace(
            f"{word} ", f"{word[:-2]}0.988 ")
    assert narrow != text
    assert any(one.startswith("left") for one in amiss(job, [narrow]))


@pytest.mark.parametrize("number", [728, 801])
def test_an_edge_rounded_as_drawn_and_pockets_on_a_ring_are_no_gouges(
    number: int, tmp_path: Path
) -> None:
    """A cut outline with figures rounded to 0.001 mm, and hours on a ring; then 6 µm too near."""
    done = made(number, tmp_path)
    assert done is not None
    job = yaml.safe_load(random_plate(number)[1])
    texts = [one.text.decode() for one in done.setups[0].programs]
    assert amiss(job, texts) == []
    for cutter in job["cutters"].values():
        cutter["diameter"] = round(cutter["diameter"] + 0.012, 4)
    assert any(one.startswith("gone") for one in amiss(job, texts))
