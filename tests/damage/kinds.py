"""The six kinds of input: how each is damaged, and all that looks at it.

An answer is "understood", "refused" or "unproved"; anything else that comes out is a fault of the
program. What was refused is told in words; what was made stands as a whole set of files.
"""

from __future__ import annotations

import hashlib
import io
import json
import random
import re
import shutil
import warnings
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

from drawings_by_hand import train_bridge
from reader_texts import ODD, random_program

from camgen.commands.terminal.read_page import page, report, told_of
from camgen.drawings.drawing import read_drawing
from camgen.faults import Refused
from camgen.job.checks.whole_job import check_job
from camgen.job.reading import parse_job
from camgen.library.over_runs.statistics import cutter_lives, size_histories
from camgen.library.pack import packed, unpack
from camgen.library.record import ProofRecord, add_run, read_record
from camgen.library.shelf import shelf
from camgen.library.standing import last_good
from camgen.make.chain import Proved, proved_job
from camgen.make.files import output_of
from camgen.post.trying.trial import things_to_watch, trial_moves
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_evidence
from camgen.reader import read_program
from camgen.shipped import demo_jobs, shipped_folder
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine, machine_of
from camgen.signs import UNSEEN, shown
from camgen.steps import step_words
from camgen.writing import write_set
from camgen.yamlfile import load_yaml
from damage.grammar import changed_bytes, changed_tokens, changed_yaml

__all__ = ["KINDS", "Kind"]

Kind = Callable[[random.Random, Path], str]

JOBS, POSTS = shipped_folder("jobs"), shipped_folder("postprocessors")
# Of those that are still understood, one in so many goes through the whole chain.
WHOLE_CHAIN = 12
PLATE = """\
job: three holes
material: brass
plate:
  thickness: 1.0
  outline: {rectangle: [12, 8]}
  holes:
    screws: {diameter: 0.8, at: [[-3, 0], [3, 0]], countersink: 1.2}
    pins: {diameter: 0.6, depth: 0.5, at: [[0, 2]]}
  pockets:
    barrel: {circle: 3, at: [0, -2], depth: 0.3, islands: [{circle: 0.8}]}
cutters:
  cone: {kind: spot-drill, diameter: 1.5, point-angle: 90, reach: 6}
  drill: {kind: drill, diameter: 0.8, flute-length: 6, reach: 8}
  fine: {kind: drill, diameter: 0.6, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.4, reach: 2.8}
setups:
  - name: top
    stock: {sheet: [20, 16], thickness: 1.0}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}
    steps:
      - spot: {cutter: cone}
      - drill: {cutter: drill, holes: [screws]}
      - drill: {cutter: fine, holes: [pins]}
      - countersink: {cutter: cone}
      - pocket: {cutter: mill}
      - outline: {cutter: mill}
"""


@cache
def _demo(name: str) -> str:
    return (JOBS / name).read_text(encoding="utf-8")


@cache
def _small_jobs() -> tuple[str, ...]:
    """Jobs that are soon through the whole chain: a plate, a wheel, a pinion."""
    wheel = _demo("third-wheel.yaml").replace("stack: 8", "stack: 2").replace(
        "columns: 4, rows: 2", "columns: 2, rows: 1").replace("quantity: 8", "quantity: 2")
    return (PLATE, PLATE, PLATE, wheel, _demo("seconds-pinion.yaml"))


@cache
def _jobs() -> tuple[str, ...]:
    return (*_small_jobs(), *(path.read_text(encoding="utf-8") for path in demo_jobs()),
            *_small_jobs())


@cache
def _machines() -> tuple[Machine, ...]:
    return tuple(find_machine(path) for path in sorted(POSTS.glob("*.yaml")))


def _whole_set(folder: Path) -> None:
    """All of a set of files that its report tells of, or none of them."""
    if not folder.exists():
        return
    there = {path.name for path in folder.iterdir()}
    told = {one["file"] for one in json.loads((folder / "report.json").read_bytes())["programs"]}
    assert told <= there, "half a set"
    assert there - told <= {"report.json", "sheet.html"}, "more than a set"


def _through_the_chain(path: Path, folder: Path) -> str:
    out = folder / "out"
    try:
        proved = proved_job(path)
        if proved.failed:
            return "unproved"
        write_set(out, output_of(proved, pictures=False).files)
    finally:
        _whole_set(out)
        shutil.rmtree(out, ignore_errors=True)
    return "understood"


def a_job(chance: random.Random, folder: Path) -> str:
    whole = chance.choice(_jobs())
    text = changed_yaml(whole, chance)
    path = folder / "job.yaml"
    if not (folder / "drawings").exists():  # what the demo jobs are based on, match or are drawn by
        shutil.copytree(JOBS, folder, dirs_exist_ok=True)
    job_file = parse_job(text, path, step_words())
    check_job(job_file, chance.choice(_machines()))
    if chance.randrange(WHOLE_CHAIN) or whole not in _small_jobs():
        return "understood"
    path.write_text(text, encoding="utf-8")
    return _through_the_chain(path, folder)


def a_machine(chance: random.Random, folder: Path) -> str:
    source = chance.choice(sorted(POSTS.glob("*.yaml")))
    text = changed_yaml(source.read_text(encoding="utf-8"), chance)
    machine = machine_of(load_yaml(text, source.name))
    if chance.randrange(3):
        return "understood"
    programs = write_programs(trial_moves(machine), machine, stem="t")
    for one in programs:
        read_program(one.text, machine, one.file)
    things_to_watch(machine, tuple(one.file for one in programs))
    if not chance.randrange(8):
        (folder / source.name).write_text(text, encoding="utf-8")
        (folder / "job.yaml").write_text(re.sub(
            r"^job:.*$", rf"\g<0>\npost: ./{source.name}", PLATE, count=1, flags=re.M),
            encoding="utf-8")
        return _through_the_chain(folder / "job.yaml", folder)
    return "understood"


SVG = """<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="18mm" height="9mm" viewBox="-9 -4.5 18 9">
<g id="plate" transform="rotate(30 1 2) scale(1.5,-1.5)"><rect x="1" y="1" width="4" height="2"
rx=".5"/><circle r="1" cx="-5"/><ellipse rx="2" ry="1" cy="6"/></g>
<path id="eye" d="M10 10a1 1 0 1 1 0 2a1 2 0 0 1 0-2zM20,0C21,0 22,1 22 2S21 4 20 4Q18 2 20 0z"/>
<defs><polygon id="p" points="30,0 31,0 31,1"/></defs><use href="#p" x="4"/>
<line x1="40" x2="41"/><polyline points="41,0 41,1 40,0"/></svg>
"""
_SVG_ENDS = ("nan", "inf", "1e308", "-0", "", "mm", "in", "%", "M", "Z", "a", "C", "<g>", "</g>",
             "<use href=\"#plate\"/>", "href", "transform=\"scale(0)\"", "matrix(1 0 0 0 0 0)",
             "&amp;", "<!DOCTYPE a [<!ENTITY b \"c\">]>", "<g>" * 3000, "9" * 60, "<!--", "-->",
             "0", "-1", "1e-9", "100000", "<style>*{}</style>", "d=\"" + "M0 0L1 1" * 4000 + "\"")
_DXF_ENDS = ("nan", "inf", "1e308", "-0", "", "0", "1", "2", "8", "10", "40", "70", "9" * 60,
             "LINE", "ARC", "CIRCLE", "LWPOLYLINE", "SPLINE", "INSERT", "ENDSEC", "SECTION", "EOF",
             "BLOCKS", "$INSUNITS", "-1", "1e-9", "100000", "\x00", "SEQEND", "VERTEX", "é",
             "360", "-360", "1e300", "1000000")


@cache
def _whole_dxf() -> str:
    """A drawing with blocks and splines, as a drawing program writes them."""
    import ezdxf

    document = ezdxf.new("R12", units=4)
    space = document.modelspace()
    space.add_circle((3, 0), 1)
    document.blocks.new("eye").add_circle((0, 0), 1)
    space.add_blockref("eye", (10, 0), {"xscale": 2, "column_count": 2, "column_spacing": 5})
    space.add_polyline2d([(30, 0, 1), (34, 0, 1)], format="xyb", close=True)
    out = io.StringIO()
    document.write(out)
    return out.getvalue()


_SPLINES = "".join(f"{code}\n{value}\n" for code, value in (
    (0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1015"), (9, "$INSUNITS"), (70, 4),
    (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES"),
    (0, "LWPOLYLINE"), (8, "a"), (90, 3), (70, 1), (10, 0), (20, 0), (42, 1), (10, 4), (20, 0),
    (42, 0), (10, 4), (20, 2), (42, 0.5),
    (0, "ELLIPSE"), (8, "a"), (10, 20), (20, 0), (11, 3), (21, 0), (40, 0.5), (41, 0),
    (42, 6.283185307),
    (0, "SPLINE"), (8, "a"), (70, 8), (71, 3), (72, 8), (73, 4), (40, 0), (40, 0), (40, 0), (40, 0),
    (40, 1), (40, 1), (40, 1), (40, 1), (10, 40), (20, 0), (10, 41), (20, 2), (10, 43), (20, 2),
    (10, 44), (20, 0), (0, "LINE"), (8, "a"), (10, 44), (20, 0), (11, 40), (21, 0),
    (0, "ENDSEC"), (0, "EOF")))


def a_drawing(chance: random.Random, folder: Path) -> str:
    way = chance.randrange(8)
    if way < 4:
        tokens = re.findall(r"<[^\s>]*|>|[\w:-]+=\"|\"|-?\d*\.?\d+|[A-Za-z#()]+|\s+|.", SVG)
        if chance.random() < 0.15:
            content = changed_bytes(SVG.encode(), chance)
        else:
            content = "".join(changed_tokens(tokens, chance, _SVG_ENDS)).encode("utf-8", "replace")
        path = folder / "drawing.svg"
    else:
        text = _whole_dxf() if way == 7 and chance.random() < 0.15 else (
            train_bridge() if way < 6 else _SPLINES)
        if chance.random() < 0.15:
            content = changed_bytes(text.encode(), chance)
        elif chance.random() < 0.5:  # by pairs of code and value: the file stays one
            lines = text.split("\n")
            pairs = ["\n".join(lines[at:at + 2]) for at in range(0, len(lines), 2)]
            content = "\n".join(changed_tokens(pairs, chance, pairs)).encode("utf-8", "replace")
        else:
            content = "\n".join(changed_tokens(text.split("\n"), chance, _DXF_ENDS)).encode(
                "utf-8", "replace")
        path = folder / "drawing.dxf"
    path.write_bytes(content)
    drawn = read_drawing(path)
    assert drawn.loops
    return "understood"


@cache
def _record_text() -> str:
    """The demo's record with a second run, so that there is something to reckon with."""
    text = _demo("third-wheel-gold.proof.yaml")
    runs = text.index("runs:\n") + len("runs:\n")
    return text + text[runs:]


def a_record(chance: random.Random, folder: Path) -> str:
    folder = folder / "records"
    folder.mkdir(exist_ok=True)
    job, path = folder / "wheel.yaml", folder / "wheel.proof.yaml"
    path.write_text(changed_yaml(_record_text(), chance, 3), encoding="utf-8")
    record = read_record(path)
    assert isinstance(record, ProofRecord)
    size_histories(record)
    cutter_lives(record)
    good = last_good(record.runs)
    if chance.randrange(6) == 0:
        job.write_text(_demo("third-wheel.yaml"), encoding="utf-8")
        shelf(folder, step_words())
        (folder / ".library.json").unlink(missing_ok=True)
    if good is not None and chance.randrange(3) == 0:
        before = path.read_bytes()
        try:
            add_run(path, record.job, good)
        except Refused:
            assert path.read_bytes() == before, "half a record"
            raise
        assert path.read_bytes().startswith(before.rstrip(b"\n")), "a record was changed"
    return "understood"


_NAMES = ("../x", ".git/hooks/post-checkout", "jobs", "/etc/x", "C:\\x", "a/../../x", "jobs/",
          "con", "jobs/a.yaml/b", "\x1b[2J", "a\nb", "", ".", "x" * 300, "é", "contents.json",
          "jobs//a.yaml", "./jobs/a.yaml", " jobs/a.yaml", "jobs/a.yaml ", "a/" * 300 + "x")


def an_archive(chance: random.Random, folder: Path) -> str:
    files = {"jobs/a.yaml": b"job: a\n", "programs/a.nc": b"%\nG21\n%\n",
             "jobs/drawings/d.dxf": train_bridge().encode(), "jobs/a.proof.yaml": b"form: 1\n"}
    if chance.random() < 0.3:
        files["jobs/a.yaml"] = changed_yaml(
            _demo("train-bridge.yaml").replace("train-plate.yaml", json.dumps(
                chance.choice(_NAMES))), chance).encode("utf-8", "replace")
    if chance.random() < 0.3:
        files[chance.choice(_NAMES)] = b"x"
    try:
        content = packed(files, "a", "jobs/a.yaml")
    except Refused:
        if chance.random() < 0.5:
            raise
        content = _by_hand(files, chance)
    way = chance.randrange(4)
    if way == 0:
        content = changed_bytes(content, chance)
    elif way == 1:  # a figure in a header: sizes, sums, ways of packing, places
        signs = [at.start() for at in re.finditer(rb"PK[\x01\x03\x05][\x02\x04\x06]", content)]
        at = chance.choice(signs) + chance.randrange(4, 46)
        content = content[:at] + chance.choice(
            [b"\x00", b"\xff", b"\x01", b"\xff\xff\xff\xff", b"\x00\x00\x00\x00", b"\x0c\x00",
             b"\x0e\x00", b"\x63\x00"]) + content[at + 1:]
    elif way == 2:
        content = _by_hand(files, chance)
    (folder / "a.zip").write_bytes(content)
    to = folder / "house" / "into"
    try:
        written = unpack(folder / "a.zip", to)
        assert all(path.resolve().is_relative_to(to.resolve()) for path in written), "led out"
        there = {path for path in to.rglob("*") if not path.is_dir()}
        assert there == set(written), "another set than told"
    except Refused:
        assert not to.exists(), "half an archive"
        raise
    finally:
        assert [path.name for path in (folder / "house").glob("*")] in ([], ["into"]), "outside"
        shutil.rmtree(folder / "house", ignore_errors=True)
    return "understood"


def _by_hand(files: dict[str, bytes], chance: random.Random) -> bytes:
    """An archive with its list damaged by its grammar, or files named and linked otherwise."""
    sums = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    contents = json.dumps({"form": 1, "job": "a", "job-file": "jobs/a.yaml", "version": "1",
                           "files": sums, "prints": None}, indent=1)
    if chance.random() < 0.6:
        contents = changed_yaml(contents, chance)
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(
            out, "w", chance.choice([0, 8, 12, 14])) as archive:
        warnings.simplefilter("ignore")  # one of a name twice is what is meant
        for name, content in [("contents.json", contents.encode("utf-8", "replace")),
                              *files.items()]:
            info = zipfile.ZipInfo(name or "x")
            info.external_attr = chance.choice([0o644, 0o120777, 0o010644, 0o040755, 0]) << 16
            archive.writestr(info, content)
            if chance.random() < 0.03:
                archive.writestr(info, content)
    return out.getvalue()


@cache
def _programs() -> tuple[str, ...]:
    made = [one.text.decode("ascii", "replace") for setup in _proved().setups
            for one in setup.programs]
    trials = [one.text.decode("ascii", "replace") for machine in _machines()
              for one in write_programs(trial_moves(machine), machine, stem="t")]
    return (*made, *trials, *(random_program(seed, 30, 0.1) for seed in range(40)))


@cache
def _proved() -> Proved:
    path = Path(_scratch(), "three-holes.yaml")
    path.write_text(PLATE, encoding="utf-8")
    return proved_job(path)


@cache
def _scratch() -> str:
    import tempfile

    return tempfile.mkdtemp()


_PROGRAM_ENDS = (*ODD, "G0 X9999999999", "G2 X1 Y1 R0", "M98 P1", "O1", "(", ")", "%", "N", "X",
                 "G", "#1=2", "G83 Z-1. R1. Q0.000001 F10", "\x00", "G1" * 400, "M99", "F0", "S-1",
                 "/", "Xnan", "X1e308", "G20", "G21", "\x1b[2J", "F1e-9", "G4 P1e12", "S99999999",
                 "M98 P9001 L99999999", "G81 X0 Y0 Z-1 R1 F50 L99999999", "T99999999 M6", "G10 L2",
                 "G3 I1000000. F1.", "G91 G1 X1e7", "A1e9", "(MSG," + "x" * 300 + ")")


def _changed_program(text: str, chance: random.Random) -> bytes:
    if chance.random() < 0.1:
        return changed_bytes(text.encode(), chance)
    if chance.random() < 0.5:
        return "\n".join(changed_tokens(text.split("\n"), chance, _PROGRAM_ENDS)).encode()
    return "".join(changed_tokens(
        re.findall(r"\([^()\n]*\)|[A-Z%/;:#][-+]?[\d.]*|\s|.", text), chance,
        _PROGRAM_ENDS)).encode("utf-8", "replace")


def a_program(chance: random.Random, folder: Path) -> str:
    if not chance.randrange(8):
        return _against_the_job(chance)
    content = _changed_program(chance.choice(_programs()), chance)
    machine = chance.choice(_machines())
    told = told_of(read_program(content, machine, "a.nc"), machine, ("a.nc",))
    lines = page(told, 80)
    assert not UNSEEN.search(shown("\n".join(lines)))
    json.dumps(report(told, None, None))
    return "understood"


def _against_the_job(chance: random.Random) -> str:
    """What ``read --job`` does: every proof, on a program that came from anywhere."""
    proved = _proved()
    setup = chance.choice(proved.setups)
    read = [read_program(_changed_program(one.text.decode(), chance), proved.machine, one.file,
                         infeed=setup.planned.moves.retract_axis) for one in setup.programs]
    evidence = gather(setup.name, proved.job_file.job, proved.machine, setup.planned.layout,
                      setup.planned.moves, read, planned_cuts=setup.planned.cuts)
    failed = [proof for proof in prove_evidence(evidence) if not proof.holds]
    return "unproved" if failed else "understood"


KINDS: dict[str, Kind] = {
    "jobs": a_job, "machines": a_machine, "drawings": a_drawing, "records": a_record,
    "archives": an_archive, "programs": a_program,
}
