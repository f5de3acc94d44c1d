"""Sheet and programs say the same, as texts: in every language, and nothing else passes."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from demos import proved_demo
from sampling import sampled

from camgen.make.chain import Proved, Wish, proved_job
from camgen.make.files import output_of
from camgen.make.told.same_said import sheet_parted
from camgen.reader import read_program
from camgen.reader.dialect import dialect_of
from camgen.shipped import shipped_folder

JOBS = shipped_folder("jobs")


def told(proved: Proved, change: Callable[[str], str] = str) -> list[str]:
    """What is found where ``change`` is made to the sheet."""
    output = output_of(proved, pictures=False)
    sheet = output.files[output.sheet].decode()
    other = change(sheet)
    assert (other == sheet) == (change is str)
    programs = [{one.file: one.text for one in setup.programs} for setup in proved.setups]
    return [fault.message for fault in sheet_parted(
        other, programs, output.report, dialect_of(proved.machine).change_message,
        [setup.read for setup in proved.setups])]


@pytest.fixture(scope="module", params=sampled(["fr", "de", "en"], 3))
def wheel(request: pytest.FixtureRequest) -> Proved:
    return proved_demo("third-wheel", Wish(language=request.param))


@pytest.mark.parametrize("post", sampled([
    "line-moves-only", "one-program-per-cutter", "plain-iso-inch", "small-memory", "with-cycles",
], 6))
def test_no_sheet_parts_from_its_programs(post: str) -> None:
    assert told(proved_demo("third-wheel", Wish(post=post))) == []


@pytest.mark.parametrize("job", sampled(["ratchet-wheel", "seconds-pinion", "balance-cock"], 3))
def test_no_demo_sheet_parts_from_its_programs(job: str) -> None:
    assert told(proved_demo(job)) == []


@pytest.mark.parametrize("wish", sampled([
    Wish(from_space=40), Wish(from_step=3, setup="blanks"), Wish(setup="teeth", dry_index=True),
    Wish(air=5),
], 4))
def test_no_sheet_of_a_variant_parts_from_its_programs(wish: Wish) -> None:
    assert told(proved_demo("third-wheel", wish)) == []


@pytest.mark.parametrize(("pattern", "other", "says"), sampled([
    (r"(<td class=\"n\">)\d\d min \d\d s", r"\g<1>25 min 04 s", "takes"),
    (r"<code>[0-9a-f]{8}</code>", "<code>00000000</code>", "the sum of"),
    (r"D 0\.6,", "D 0.8,", "cutter 2 is D 0.8"),
    (r"<b>2 drill</b>", "<b>7 drill</b>", "cutter 2 is fitted, and is not on it"),
    (r">24000<", ">23000<", "which no program says"),
    (r"<td>spot</td>", "<td>mill</td>", "cutters come in the order"),
    (r"third-wheel-teeth\.nc</code></td>", "teeth.nc</code></td>", "is not on it"),
    (r'<section class="setup">', '<section class="other">', "setups"),
    (r">120<", ">140<", "mm/min, which no program says there"),
    (r">361<", ">290<", "mm/min, which no program says there"),
    (r">2864<", ">24000<", "which no program says"),
    (r"<td>drill</td>", "<td>spot</td>", "by another in the program"),
    (r"(<td class=\"n\">)3 min \d\d s", r"\g<1>3 min 59 s", " s, not 3 min 59 s"),
    (r">2\. ", ">3. ", "the steps are"), (r">1\. [A-Z]?[a-zé]+<", ">1. mill<", "the steps are"),
], 3))
def test_what_the_sheet_says_otherwise_is_found(
    wheel: Proved, pattern: str, other: str, says: str
) -> None:
    assert told(wheel) == []
    found = told(wheel, lambda sheet: re.sub(pattern, other, sheet, count=1))
    assert any(says in one for one in found), found


@pytest.mark.parametrize(("word", "other", "says"), sampled([
    (b"D0.6", b"D0.8", "D 0.8 in the program"), (b" 3 ", b" 2 ", "order"),
    (b"S24000", b"S12000", "which no program says"), (b"Z", b"z", "the sum of"),
    (b"F120.", b"F110.", "mm/min, which no program says there"),
    (b"S2864", b"S2900", "rev/min, which no program says there"),
    (b"T2 M6", b"T3 M6", "by another"),
    (b" 2 ", b" 4 ", "the steps are"),
], 3))
def test_what_a_program_says_otherwise_is_found(
    wheel: Proved, word: bytes, other: bytes, says: str
) -> None:
    output = output_of(wheel, pictures=False)
    programs = [{one.file: one.text.replace(word, other) for one in setup.programs}
                for setup in wheel.setups]
    read = [[read_program(text, wheel.machine, name) for name, text in files.items()]
            for files in programs]
    found = [fault.message for fault in sheet_parted(
        output.files[output.sheet].decode(), programs, output.report,
        dialect_of(wheel.machine).change_message, read)]
    assert any(says in one for one in found), found


@pytest.mark.parametrize("language", sampled(["en", "de", "fr"], 3))
def test_offsets_of_stations_that_the_sheet_says_otherwise_are_found(
    tmp_path: Path, language: str
) -> None:
    text = (JOBS / "ratchet-wheel.yaml").read_text(encoding="utf-8")
    job = tmp_path / "stations.yaml"
    job.write_text(text.replace("    holding: ", "    fixture: {stations: 3}\n    holding: ", 1),
                   encoding="utf-8")
    proved = proved_job(job, Wish(language=language))
    assert told(proved) == []
    for pattern, other in (("G55", "G57"), ("G54(.*?)G55", r"G55\1G54")):
        found = told(proved, lambda sheet, a=pattern, b=other: re.sub(
            a, b, sheet, count=1, flags=re.DOTALL))
        assert any("offsets" in one for one in found), found
