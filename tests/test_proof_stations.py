"""A run at several stations, from the job to its proofs: what is planted is found and named."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from planting.harness import Tally, made, plant
from sampling import sampled

from camgen.faults import Fault
from camgen.job.checks.whole_job import job_faults
from camgen.job.reading import JobFile, parse_job
from camgen.make.chain import proved_job
from camgen.make.files import output_of
from camgen.make.variants import Wish
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import Evidence, Proof, each_proof, gather
from camgen.reader import read_program
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.steps import step_words

JOB = """
job: run of blanks
material: brass
quantity: 6
wheel: {teeth: 75, module: 0.14, mate: 10, thickness: 0.25, bore: 0.80}
made-elsewhere: [teeth]
cutters:
  spot: {kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 6}
  mill: {kind: end-mill, diameter: 0.40, flute-length: 0.8, reach: 1.6}
setups:
  - name: blank
    stock: {sheet: [14, 14], thickness: 0.25}
    holding: {by: shellac on brass, cut-into: 0.3, holds-slugs: true}
    fixture: {stations: 3}
    steps: [spot: {cutter: spot}, bore: {cutter: mill}, outline: {cutter: mill}]
"""
AT = "fixture: {stations: 3, at: [[0, 0, 0], [60, 0, 0], [120, 10, 1]]}"


def job(text: str = JOB) -> JobFile:
    return parse_job(text, Path("run.yaml"), step_words())


@cache
def texts(text: str, post: str) -> tuple[tuple[str, str], ...]:
    planned = plan_job(job(text), find_machine(post)).setups[0]
    return tuple((one.file, one.text.decode("ascii"))
                 for one in write_programs(planned.moves, find_machine(post), stem="run"))


def evidence(*changes: tuple[str, str], text: str = JOB, post: str = "plain-iso",
             with_plan: bool = True) -> Evidence:
    """The run as read back, with pieces of its text changed."""
    machine = find_machine(post)
    planned = plan_job(job(text), machine).setups[0]
    read = []
    for file, program in texts(text, post):
        for before, after in changes:
            assert before in program
            program = program.replace(before, after)
        read.append(read_program(program, machine, file))
    whole = gather("blank", job(text).job, machine, planned.layout, planned.moves, read,
                   planned_cuts=planned.cuts)
    return whole if with_plan else dataclasses.replace(whole, moves=None)


def answers(*changes: tuple[str, str], **more: Any) -> dict[str, Proof]:
    return {str(proof.id): proof for proof in each_proof(evidence(*changes, **more))}


@pytest.mark.parametrize("post", sampled(
    ["plain-iso", "with-cycles", "small-memory", "plain-iso-inch"], 3))
def test_a_run_holds_on_machines_with_enough_zeros(post: str) -> None:
    assert [name for name, one in answers(post=post).items() if not one.holds] == []


def test_the_cutter_goes_round_all_stations_before_it_is_changed() -> None:
    stations = evidence().motion.station.tolist()
    cutters = evidence().motion.cutter.tolist()
    visits = [pair for n, pair in enumerate(zip(cutters, stations, strict=True))
              if n == 0 or pair != (cutters[n - 1], stations[n - 1])]
    assert visits == [(1, 1), (1, 2), (1, 3), *2 * [(2, 1), (2, 2), (2, 3)]]


@pytest.mark.parametrize("with_plan", [True, False])
def test_a_station_cut_twice_and_one_left_out_are_named(with_plan: bool) -> None:
    wrong = answers(("G56", "G55"), with_plan=with_plan)["motion.stations"]
    assert not wrong.holds
    assert "station 3 (G56) is not cut by cutter 2" in wrong.where
    assert "station 2 (G55) is cut more than once by cutter 2" in wrong.where


def test_a_zero_beyond_the_fixture_is_named() -> None:
    found = answers(("G56", "G58"))
    assert "cuts at a zero that is no station's" in found["motion.stations"].where
    assert not found["motion.work-offset"].holds


@pytest.mark.parametrize("with_plan", sampled([True, False], 2))
def test_one_offset_alone_called_wrongly_is_found(with_plan: bool) -> None:
    (_, program), = texts(JOB, "plain-iso")
    many = program.count("G55")
    for count in sorted({0, many // 2, many - 1}):
        pieces = program.split("G55")
        damaged = "G55".join(pieces[:count + 1]) + "G54" + "G55".join(pieces[count + 1:])
        machine = find_machine("plain-iso")
        whole = dataclasses.replace(evidence(with_plan=with_plan))
        read = read_program(damaged, machine, "run.nc")
        again = gather("blank", whole.job, machine, whole.layout, whole.moves, [read],
                       whole.cutters, whole.planned_cuts)
        assert [str(one.id) for one in each_proof(again) if not one.holds]


def test_a_change_of_zero_while_the_cutter_is_down_is_refused() -> None:
    (_, program), = texts(JOB, "plain-iso")
    lines = program.split("\r\n")
    at = lines.index("G55")
    while not lines[at].startswith(("G0 Z5", "Z5")):
        at -= 1
    down = program.replace("\r\n".join(lines[at:at + 3]), "\r\n".join(lines[at + 1:at + 3]), 1)
    machine = find_machine("plain-iso")
    whole = evidence()
    again = gather("blank", whole.job, machine, whole.layout, whole.moves,
                   [read_program(down, machine, "run.nc")], whole.cutters, whole.planned_cuts)
    found = {str(proof.id): proof for proof in each_proof(again)}
    assert not found["motion.station-changes-clear"].holds
    assert not found["motion.text-reads"].holds


def test_a_zero_not_said_again_after_a_stop_is_found() -> None:
    (_, program), = texts(JOB, "plain-iso")
    stop = program.index("M0\r\n")
    again = program.index("G54\r\n", stop)
    machine, whole = find_machine("plain-iso"), evidence()
    read = read_program(program[:again] + program[again + 5:], machine, "run.nc")
    found = gather("blank", whole.job, machine, whole.layout, whole.moves, [read],
                   whole.cutters, whole.planned_cuts)
    wrong = {str(proof.id): proof for proof in each_proof(found)}["motion.zero-after-stops"]
    assert not wrong.holds
    assert "run.nc, line" in wrong.where


def test_what_one_station_lacks_is_measured_in_its_own_frame() -> None:
    """A cut made at another depth at station 2 alone, with no plan to hold it against."""
    (_, program), = texts(JOB, "plain-iso")
    second = program.rindex("G55")
    end = program.index("G56", second)
    low = program[second:end].replace("Z-0.3", "Z-0.24")
    assert low != program[second:end]
    machine, whole = find_machine("plain-iso"), evidence(with_plan=False)
    again = gather("blank", whole.job, machine, whole.layout, None,
                   [read_program(program[:second] + low + program[end:], machine, "run.nc")],
                   whole.cutters, whole.planned_cuts)
    left = {str(proof.id): proof for proof in each_proof(again)}["flat.material-left"]
    assert not left.holds
    assert left.where.endswith("station 2")


def test_travel_is_known_where_the_job_says_where_the_zeros_lie() -> None:
    lacking, known = answers(), answers(text=JOB.replace("fixture: {stations: 3}", AT))
    assert "where the stations' zeros lie is not known" in lacking["motion.travel: X"].where
    assert "not known" not in known["motion.travel: X"].where
    for axis, more in (("X", 120), ("Y", 10)):
        travel = f"motion.travel: {axis}"
        assert known[travel].figure == pytest.approx(lacking[travel].figure + more)
    far = answers(text=JOB.replace("fixture: {stations: 3}", AT.replace("120", "195")))
    assert not far["motion.travel: X"].holds


def faults(text: str, post: str | None = None) -> list[Fault]:
    machine: Machine | None = find_machine(post) if post else None
    return [one for one in job_faults(job(text), machine) if "fixture" in one.place.path]


def test_a_machine_without_offsets_refuses_and_says_what_to_do() -> None:
    (fault,) = faults(JOB, "numbers-without-point")
    assert "has no work offsets" in fault.message
    assert "repeat" in fault.remedy
    assert faults(JOB, "plain-iso") == []


@pytest.mark.parametrize(("fixture", "said"), [
    ("{stations: 3, at: [[0, 0, 0], [60, 0, 0]]}", "3 stations and 2 places"),
    ("{stations: 2, at: [[1, 0, 0], [60, 0, 0]]}", "what the others are counted from"),
    ("{stations: 2, at: [[0, 0, 0], [0, 0, 1]]}", "two stations stand at one place"),
    ("{stations: 2, at: [[0, 0, 0], [10, 0, 0]]}", "stations 1 and 2 would lie over one another"),
    ("{stations: 2, at: [[0, 0, 0], [60, 0, 6]]}", "differ in height by 6 mm"),
])
def test_places_that_cannot_be_are_refused(fixture: str, said: str) -> None:
    (fault,) = faults(JOB.replace("{stations: 3}", fixture))
    assert said in fault.message


def test_faults_planted_in_a_run_are_found(tmp_path: Path) -> None:
    tally = Tally()
    for run in made(written(tmp_path), "plain-iso"):
        assert run.first_failing(run.read) is None
        assert run.first_failing(run.read, with_plan=False) is None
        tally.add(plant(run, 7, 4, ("wrong offset", "block lost", "two blocks swapped")))
    assert [one for one in tally.outcomes if one.crashed] == []
    assert tally.missed() == []
    assert sum(one.kind == "wrong offset" for one in tally.outcomes) == 4


def written(tmp_path: Path) -> Path:
    (tmp_path / "jobs").mkdir()
    path = tmp_path / "jobs" / "run.yaml"
    path.write_text(JOB, encoding="utf-8")
    return path


@pytest.mark.parametrize("wish", sampled([
    Wish(from_station=2), Wish(from_step=2, from_station=3), Wish(air=20),
    Wish(from_cutter="mill"),
], 2))
def test_a_run_started_again_is_proved_as_planned(tmp_path: Path, wish: Wish) -> None:
    proved = proved_job(written(tmp_path), wish)
    assert proved.failed == ()
    if wish.from_station is not None:
        (program,) = proved.setups[0].programs
        assert program.file.endswith(f"-from-station-{wish.from_station}.nc")
        head = program.text.decode("ascii").split("(STEP")[0]
        assert f"STARTS AGAIN AT STATION {wish.from_station}" in head
        assert f"G{53 + wish.from_station}" in head


def test_sheet_report_and_picture_tell_of_all_stations(tmp_path: Path) -> None:
    proved = proved_job(written(tmp_path))
    made_files = output_of(proved, pictures=False)
    sheet = next(bytes(data) for name, data in made_files.files.items() if name == "sheet.html")
    assert b"at each of 3 stations" in sheet
    for word in (b"<code>G54</code>", b"<code>G55</code>", b"<code>G56</code>"):
        assert word in sheet
    assert b"set Z anew at every station" in sheet
    assert made_files.report["time"]["setups"][0]["runs"] == 2
    assert made_files.report["metal"]["pieces"] == 6


PLATE = """
job: run of plates
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.0
  outline: {rectangle: [20, 16]}
  holes: {pins: {diameter: 0.8, at: [[-8, 0], [8, 0]]}}
  pockets: {barrel: {circle: 6, depth: 0.5}, click: {circle: 3, at: [6, 4], depth: 0.3}}
cutters:
  drill: {kind: drill, diameter: 0.80, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 0.80, flutes: 2, flute-length: 1.6, reach: 2.4}
setups:
  - name: top
    stock: {sheet: [20, 16], thickness: 1.0}
    holding: {by: wax on a carrier, cut-into: 0.5, holds-slugs: true}
    fixture: {stations: 3}
    steps: [drill: {cutter: drill}, pocket: {cutter: mill}]
"""


@pytest.mark.long
@pytest.mark.parametrize("largest", sampled([None, 6000], 2))
def test_stations_of_a_program_in_parts_are_each_proved(largest: int | None) -> None:
    """Pockets too: the metal met at a station is what stands at that station."""
    machine = find_machine("small-memory")
    machine = machine.model_copy(update={
        "program": machine.program.model_copy(update={"largest": largest}),
        "subprograms": machine.subprograms.model_copy(update={"use": False}),
    })
    job_file = job(PLATE)
    planned = plan_job(job_file, machine).setups[0]
    written_parts = write_programs(planned.moves, machine, stem="run")
    assert (len(written_parts) > 1) == (largest is not None)
    read = [read_program(one.text, machine, one.file) for one in written_parts]
    whole = gather("top", job_file.job, machine, planned.layout, planned.moves, read,
                   planned_cuts=planned.cuts)
    assert [str(proof.id) for proof in each_proof(whole) if not proof.holds] == []
