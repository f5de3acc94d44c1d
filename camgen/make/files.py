"""The files of a proved job, as contents to be written together."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from camgen.cutting.time.spent import TimeAccount
from camgen.faults import Refused
from camgen.make.chain import Proved
from camgen.make.told.account import job_account
from camgen.make.told.report import report_of, times_of
from camgen.make.told.same_said import sheet_parted
from camgen.make.told.sheet_texts import sheet_of
from camgen.reader.dialect import dialect_of
from camgen.sheet.page import sheet_html
from camgen.values import dataclass
from camgen.words import words

if TYPE_CHECKING:
    from camgen.preview.paper.board import Style
    from camgen.preview.setup import Picture

__all__ = ["Output", "drawn_of_job", "output_of", "output_with", "page_of_job", "report_name"]


@dataclass(frozen=True)
class Output:
    """Everything a job leaves: ``files`` by name, that of the ``sheet``, the report, and the
    accounts of time."""

    files: Mapping[str, bytes]
    sheet: str
    report: dict[str, Any]
    times: Mapping[str, TimeAccount]


def output_of(proved: Proved, *, pictures: bool = True) -> Output:
    """The files of a job whose proofs all hold.

    Raises ValueError when one does not: no program leaves unproved; and Refused where the sheet's
    text does not say the same as the programs'.
    """
    if proved.failed:
        raise ValueError("a program that fails a proof is not written")
    times = times_of(proved)
    account = job_account(proved)
    report = report_of(proved, times, account)
    drawn: Mapping[str, Picture] = {}
    if pictures:
        # Loaded when asked for: drawing takes longer to load than a wheel to make.
        from camgen.make.pictures import pictures_of

        drawn = pictures_of(proved)
    sheet = sheet_html(sheet_of(proved, times, drawn, words(proved.language), account),
                       proved.language)
    return output_with(proved, sheet, report, times, drawn, {
        name: f"{proved.stem}-{name}{proved.again}.png" for name in drawn})


def output_with(
    proved: Proved, sheet: str, report: dict[str, Any], times: Mapping[str, TimeAccount],
    drawn: Mapping[str, Picture], named: Mapping[str, str],
) -> Output:
    """The files of what is proved with its ``sheet``, its report and the pictures ``drawn``, which
    are ``named`` by their setups.

    Raises Refused where sheet, programs and pictures do not say the same.
    """
    faults = sheet_parted(sheet, [{one.file: one.text for one in setup.programs}
                            for setup in proved.setups], report,
                    dialect_of(proved.machine).change_message,
                    [setup.read for setup in proved.setups])
    if drawn:
        from camgen.make.told.same_drawn import pictures_parted

        faults += pictures_parted(
            sheet, {name: (one.texts, one.says) for name, one in drawn.items()}, report,
            words(proved.language))
    if faults:
        raise Refused(faults)
    files: dict[str, bytes] = {}
    for setup in proved.setups:
        files.update({program.file: program.text for program in setup.programs})
        if setup.name in drawn:
            files[named[setup.name]] = drawn[setup.name].content
    # Who starts again needs another sheet, and the whole one afterwards; so the report.
    sheet_name = f"sheet{proved.again}.html"
    files[sheet_name] = sheet.encode()
    files[report_name(proved)] = _spelt(report).encode()
    return Output(files, sheet_name, report, times)


def report_name(proved: Proved) -> str:
    """The file that tells what was made: of a program that starts again one of its own."""
    return f"report{proved.again}.json"


def drawn_of_job(
    proved: Proved, *, course: bool = False, dark: bool = False, style: Style = "png",
    rapids: bool = False, made: Callable[[Proved], Output] | None = None,
) -> Mapping[str, Picture]:
    """The picture of each setup by its name, or its ``course`` in time; with all ``rapids``. Held
    against the files that are ``made`` without pictures.

    Raises Refused where all proofs hold and a picture does not say the same as the sheet.
    """
    from camgen.make.pictures import courses_of, pictures_of
    from camgen.make.told.same_drawn import courses_parted, pictures_parted

    compare = courses_parted if course else pictures_parted
    drawn = (courses_of(proved, dark=dark, style=style) if course else
             pictures_of(proved, dark=dark, style=style, rapids=rapids))
    if not proved.failed:
        output = (made or _without_pictures)(proved)
        faults = compare(output.files[output.sheet].decode(),
                         {name: (one.texts, one.says) for name, one in drawn.items()},
                         output.report, words(proved.language))
        if faults:
            raise Refused(faults)
    return drawn


def page_of_job(
    proved: Proved, made: Callable[[Proved], Output] | None = None
) -> Mapping[str, bytes]:
    """The page of a job by its file's name; held against the files that are ``made`` without
    pictures.

    Raises Refused where all proofs hold and the page does not say the same as sheet and programs.
    """
    from camgen.make.pictures import page_of
    from camgen.make.told.same_drawn import page_parted

    page = page_of(proved)
    if not proved.failed:
        output = (made or _without_pictures)(proved)
        faults = page_parted(
            output.files[output.sheet].decode(), page,
            {setup.name: {one.file: one.text for one in setup.programs}
             for setup in proved.setups}, output.report, words(proved.language))
        if faults:
            raise Refused(faults)
    return {f"{proved.stem}.html": page.encode()}


def _without_pictures(proved: Proved) -> Output:
    return output_of(proved, pictures=False)


def _spelt(report: Mapping[str, Any]) -> str:
    """The report as JSON: a line for each word of it, and for each entry of a list."""
    lines: list[str] = []
    for word, value in report.items():
        name = json.dumps(word)
        if isinstance(value, list) and value:
            entries = ",\n".join(f"  {json.dumps(one, ensure_ascii=False)}" for one in value)
            lines.append(f" {name}: [\n{entries}\n ]")
        else:
            lines.append(f" {name}: {json.dumps(value, ensure_ascii=False)}")
    return "{\n" + ",\n".join(lines) + "\n}\n"
