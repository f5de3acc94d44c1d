"""A program's sum leaves out the one line of its header that tells its standing, and no other."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from demos import proved_demo
from sampling import sampled

from camgen.faults import Refused
from camgen.library.record import add_run, record_path
from camgen.library.standing import Standing
from camgen.make.chain import Wish, proved_job
from camgen.make.runs.proving import as_it_ran, program_sum
from camgen.make.runs.recording import Form, filled_run, kept_programs
from camgen.make.told.standing_line import left_out_before, standing_line
from camgen.shipped import shipped_folder

JOB = shipped_folder("jobs") / "ratchet-wheel.yaml"
STATES = [Standing("never run"), Standing("proven"), Standing("failed"), Standing("changed")]


@pytest.fixture(scope="module", params=["en", "de", "fr"])
def program(request: pytest.FixtureRequest) -> bytes:
    return proved_demo(JOB.stem, Wish(language=request.param)).setups[0].programs[0].text


def test_the_headers_one_line_is_left_out(program: bytes) -> None:
    (line,) = set(program.splitlines()) - set(left_out_before(program).splitlines())
    other = program.replace(line, b"(STANDING PROVEN AT THE MACHINE 2026-03-01)")
    assert other != program
    assert program_sum(other) == program_sum(program)
    assert program_sum(program) == hashlib.sha256(left_out_before(program)).hexdigest()


@pytest.mark.parametrize("line", sampled([
    b"G0 Z-5. (STANDING)", b"G0 Z-5. (STANDING PROVEN AT THE MACHINE 2026-03-01)", b"(STANDING)",
    b"(STANDING PROVEN AT THE MACHINE 2026-03-01)", b"(STANDING PROVEN) G0 Z-5.",
    b"(STAND: BEWAEHRT 2026-03-01) G0 Z-5.", b"(ETAT: PAS ENCORE EPROUVE) M3",
    b"; STANDING PROVEN AT THE MACHINE 2026-03-01", b"M30 ; STAND:",
], 2))
def test_a_further_line_with_the_word_makes_another_sum_wherever_it_stands(
    program: bytes, line: bytes
) -> None:
    lines = program.split(b"\r\n")
    for at in range(0, len(lines) + 1, 3):
        harmed = b"\r\n".join([*lines[:at], line, *lines[at:]])
        assert program_sum(harmed) != program_sum(program), at


def test_a_kept_program_that_was_added_to_is_not_taken_for_the_one_that_ran(
    tmp_path: Path
) -> None:
    job = tmp_path / "wheel.yaml"
    job.write_bytes(JOB.read_bytes())
    proved = proved_job(job)
    run = filled_run(proved, Form(when="2026-03-01", made=1))
    add_run(record_path(job), "wheel", run, kept_programs(proved))
    again = proved_job(job)
    assert as_it_ran(again)
    kept = next((tmp_path / "wheel.proven").iterdir())
    text = kept.read_bytes()
    kept.write_bytes(text.replace(b"M30", b"G0 Z-5. (STANDING)\r\nM30", 1))
    with pytest.raises(Refused, match="beside the header's one"):
        as_it_ran(again)
    kept.write_bytes(text.replace(b"M30", b"G0 Z-5.\r\nM30", 1))
    with pytest.raises(Refused, match="changed since"):
        as_it_ran(again)


def test_a_line_broken_in_short_comments_is_left_out_whole() -> None:
    texts = []
    for state in STATES:
        words = standing_line(state, "2026-03-01").split()
        comments = "".join(f"({word})\r\n" for word in words)
        texts.append(f"%\r\n(CAMGEN 1 JOB 12)\r\n{comments}G0 Z5.\r\nM30\r\n".encode())
    assert len({program_sum(text) for text in texts}) == 1
