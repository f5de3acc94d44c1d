"""Every word of a machine file said otherwise: all values of lists, numbers at and near their ends.

The words are found in the models of machine files, so a new one is looked at by itself. A file so
changed is read, and small jobs are made on it: each is made and proved, or refused with a word.
"""

from __future__ import annotations

import copy
import random
import re
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import yaml
from annotated_types import Ge, Gt, Le, Lt
from pydantic import BaseModel

from camgen.faults import Fault, Refused
from camgen.make.chain import Wish, proved_job
from camgen.shipped import shipped_folder
from camgen.shop.machine import DrivenHead, HandHead, Machine

__all__ = ["JOBS", "answer", "changed_files", "drawn", "made", "words_and_values"]

Word = tuple[tuple[str, ...], Any]

# Texts: what nobody would draw from a pattern, and what the trade writes.
TEXTS: dict[tuple[str, ...], tuple[Any, ...]] = {
    ("comments", "message"): ("", "MSG", "(MSG,", "MSG "),
    ("change", "message"): ("TOOL {cutter}: {text}", "FIT {cutter} ({text})", "{text} / {cutter}"),
    ("dividing", "message"): ("{space}: {setting} ({angle})", "{setting} FOR {space} {angle}"),
    ("program", "end"): ("M2", "M30", "M99"),
    ("program", "extension"): ("NC", "txt", "tap1"),
    ("subprograms", "call"): ("M98 P{number}", "M97 P{number}", "M98 O{number}"),
    ("subprograms", "label"): ("O{number}", "N{number}", ":{number}"),
    ("subprograms", "back"): ("M99", "M17"),
}
G_WORDS = ("G80", "G81", "G54", "G100", "G53.1")
M_WORDS = ("M3", "M5", "M6", "M8", "M9", "M30", "M100", "M0")


def words_and_values(model: type[BaseModel] = Machine, base: tuple[str, ...] = ()) -> list[Word]:
    """The words of a machine file, each with a value: (path, value)."""
    found: list[Word] = []
    for name, field in model.model_fields.items():
        path = (*base, name.replace("_", "-"))
        if path in (("name",), ("describes",)):
            continue
        if path == ("insert",):
            found += [((*path, where.replace("_", "-")), blocks)
                      for where in field.annotation.model_fields  # type: ignore[union-attr]
                      for blocks in (["M100"], ["G4 P1."], ["G0 X0."], ["(NOW {step})"])]
            continue
        if path == ("probing",):
            touched = {"touch": "G31", "zero": "G10 L20 P1 {place}"}
            found += [(path, None), (path, touched)] + [(path, touched | more) for more in (
                {"touch": "G38.2"}, {"touch": "G80"}, {"feed": 500}, {"feed": 0.01},
                {"search": 10}, {"search": 0.05}, {"zero": "G10 L20 P{station} {place}"},
                {"zero": "G92 {place}"})]
            continue
        kind = field.annotation
        for part in (DrivenHead, HandHead) if path == ("dividing",) else (kind,):
            if isinstance(part, type) and issubclass(part, BaseModel):
                found += [(sub, value) for sub, value in words_and_values(part, path)]
            elif path in TEXTS:
                found += [(path, value) for value in TEXTS[path]]
            else:
                found += [(path, value) for value in _values(part, field.metadata)]
        if path == ("dividing",):
            found.append((path, None))
        if path == ("second-rotary",):
            found += [(path, {"letter": letter, "stands-at": 30.0}) for letter in "ABC"]
    return list({repr(word): word for word in found}.values())


def _values(kind: Any, bounds: list[Any]) -> list[Any]:
    """Values of a kind of word: all there are, or such as lie at its ends."""
    origin = get_origin(kind)
    if origin is Annotated:
        return _values(get_args(kind)[0], [*bounds, *get_args(kind)[1:]])
    if origin is Literal:
        return list(get_args(kind))
    if origin in (Union, UnionType):
        return [value for part in get_args(kind) for value in _values(part, bounds)]
    if kind is type(None):
        return [None]
    if kind is bool:
        return [True, False]
    if kind in (int, float):
        return _numbers(kind, bounds)
    if kind is str:
        pattern = next((one.pattern for one in _flat(bounds) if hasattr(one, "pattern")
                        and one.pattern), "")
        return list(G_WORDS if pattern.startswith("^G") else
                    M_WORDS if pattern.startswith("^M") else ())
    if origin is tuple:
        parts = [part for part in get_args(kind) if part is not Ellipsis]
        if len(parts) > 1:
            return [[_values(part, [])[n % 2] for part in parts] for n in (0, 1)]
        inner = _values(parts[0], [])
        listed = [[one] for one in inner] + [inner[:2], inner]
        return [one for one in listed if len(set(map(repr, one))) == len(one)] + [[]]
    return []


def _flat(bounds: list[Any]) -> list[Any]:
    return [inner for one in bounds for inner in (getattr(one, "metadata", None) or [one])]


def _numbers(kind: type, bounds: list[Any]) -> list[Any]:
    """Numbers at the ends of their range, just beside them, and of usual sizes."""
    low, high = -1e9, 1e9
    for one in _flat(bounds):
        step = 1 if kind is int else 1e-6
        low = (one.ge if isinstance(one, Ge) else one.gt + step if isinstance(one, Gt)
               else low)  # type: ignore[operator]
        high = (one.le if isinstance(one, Le) else one.lt - step if isinstance(one, Lt)
                else high)  # type: ignore[operator]
    usual = (0, 1, 2, 5, 12, 45, 300, 9000) if kind is int else (
        0.0, 0.001, 0.002, 0.005, 0.01, 0.3, 1.0, 7.5, 33.3, 120.0, 999.0, 12345.0)
    ends = [end for end in (low, high) if abs(end) < 1e9]
    return sorted({*ends, *(one for one in usual if low <= one <= high)})


_WHEEL = """
job: small wheel
material: brass-leaded
wheel: {teeth: 12, module: 0.3, form: cycloidal, mate: 8, thickness: 0.4, bore: 1.0}
cutters:
  spot: {kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 6}
  drill: {kind: drill, diameter: 0.8, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 0.6, flutes: 2, flute-length: 1.5, reach: 3}
  teeth: {kind: form-disc, diameter: 20, flutes: 14, thickness: 2, arbor: 12, shank: 8, reach: 20,
          made-for: {form: cycloidal-wheel, module: 0.3, teeth: 12, mate: 8}}
setups:
  - name: blank
    stock: {sheet: [12, 12], thickness: 0.4}
    zero: {x: centre, y: centre, z: top}
    holding: {by: shellac on a carrier, carrier: brass-leaded, carrier-thickness: 3, cut-into: 0.3,
              holds-slugs: true}
    steps:
      - spot: {cutter: spot}
      - drill: {cutter: drill}
      - bore: {cutter: mill, drilled: 0.8}
      - outline: {cutter: mill}
  - name: teeth
    dividing: {stack: 2, backing: 2.5, arbor: 0.9, zero: touch, front: {nut: 2.4, length: 3},
               tailstock: {centre: 2, body: 10, from: 14}}
    holding: {by: arbor with nut}
    steps:
      - cut-teeth: {cutter: teeth, passes: 2, trial-spaces: 2}
"""
_PINION = """
job: small pinion
material: free-cutting-steel
pinion: {leaves: 8, module: 0.2, form: cycloidal, addendum: two-thirds-ogive, mate: 60, length: 2}
cutters:
  leaves: {kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 10,
           shank: 6, reach: 15, made-for: {form: cycloidal-pinion, module: 0.2, teeth: 8, mate: 60,
           addendum: two-thirds-ogive}}
setups:
  - name: leaves
    dividing: {stack: 1, arbor: 0.60, zero: touch, front: {arbor: 0.60, length: 6},
               tailstock: {centre: 1.5, body: 6, from: 12}}
    holding: {by: collet and tailstock}
    steps:
      - cut-teeth: {cutter: leaves, passes: 2, order: each-round}
"""
_PLATE = """
job: small plate
material: brass-leaded
plate:
  thickness: 1
  outline: {circle: 8}
  holes:
    pins: {at: [[-2.4, 0], [2.4, 0]], diameter: 0.8}
  jewels:
    balance: {diameter: 1.2, at: [[0, 2]], depth: 0.4, through: 0.8}
  pockets:
    well: {circle: 2.4, at: [0, -1.6], depth: 0.3}
cutters:
  spot: {kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 8}
  drill: {kind: drill, diameter: 0.8, flute-length: 6, reach: 10}
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 1.8, reach: 3}
setups:
  - name: plate
    stock: {sheet: [24, 12], thickness: 1}
    zero: {x: left, y: front, z: top}
    holding: {by: shellac on a carrier, carrier: brass, carrier-thickness: 4, cut-into: 0.4,
              holds-slugs: true}
    repeat: {columns: 2, pitch: [10, 10]}
    steps:
      - spot: {cutter: spot}
      - drill: {cutter: drill, holes: [pins, balance-through]}
      - bore: {cutter: mill, holes: [balance], drilled: 0.8}
      - pocket: {cutter: mill}
      - outline: {cutter: mill}
"""
_PROBED = """
job: probed plate
material: brass-leaded
plate:
  thickness: 1.2
  outline: {circle: 8}
  holes: {pins: {diameter: 1.5, at: [[0, 0]]}}
cutters:
  drill: {kind: drill, diameter: 1.5, flute-length: 6, reach: 8}
  ball: {kind: probe, diameter: 1.0, shank: 0.6, reach: 8}
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.0, reach: 2.4}
setups:
  - name: one
    stock: {sheet: [14, 14], thickness: 1.2}
    holding: {by: shellac on a carrier, carrier: brass, carrier-thickness: 4, cut-into: 2,
              holds-slugs: true}
    steps:
      - drill: {cutter: drill}
      - probe: {cutter: ball, hole: pins}
      - probe: {cutter: ball, edge: left}
      - outline: {cutter: mill}
"""
JOBS = {"wheel": _WHEEL, "pinion": _PINION, "plate": _PLATE, "probed": _PROBED}


def changed_files(words: list[Word]) -> dict[str, Any]:
    """What a machine file says with ``words`` changed, each by its path."""
    by_hand = {name.replace("_", "-") for name in HandHead.model_fields} - {
        name.replace("_", "-") for name in DrivenHead.model_fields}
    like = "hand-dividing" if any(path[0] == "dividing" and path[-1] in by_hand
                                  for path, _ in words) else "plain-iso"
    data = yaml.safe_load((shipped_folder("postprocessors") / f"{like}.yaml").read_text())
    for path, value in words:
        here = data
        for name in path[:-1]:
            here[name] = here[name] if isinstance(here.get(name), dict) else {}
            here = here[name]
        here[path[-1]] = copy.deepcopy(value)
    return {**data, "name": "mine"}


def drawn(seed: int, count: int, of: list[Word]) -> list[Word]:
    """So many words at random, each once."""
    picked: dict[tuple[str, ...], Any] = {}
    order = random.Random(seed).sample(of, min(len(of), 8 * count))
    for path, value in order:
        if len(picked) < count and not any(
                path[: len(other)] == other or other[: len(path)] == path for other in picked):
            picked[path] = value
    return list(picked.items())


def answer(folder: Path, said: dict[str, Any], job: str) -> str:
    """What comes of a job on a machine file: "made", "refused" by a word of it, or what is wrong.

    What is wrong begins with "!": a proof that fails, or a refusal that names no word of the file.
    """
    return made(folder, said, job)[0]


def made(folder: Path, said: dict[str, Any], job: str) -> tuple[str, list[str]]:
    """The answer, and the programs where they were proved: setup by setup, part by part."""
    (folder / "mine.yaml").write_text(yaml.safe_dump(said))
    path = folder / f"{job}.yaml"
    path.write_text(JOBS[job])
    try:
        proved = proved_job(path, Wish(post=str(folder / "mine.yaml")))
    except Refused as no:
        unnamed = [str(fault) for fault in no.faults if not _names_a_word(fault)]
        return "refused" if not unnamed else "!" + " / ".join(unnamed), []
    if proved.failed:
        return "!proofs " + ", ".join(
            f"{proof.id.word}: {proof.where}" for proof in proved.failed), []
    return "made", [program.text.decode() for setup in proved.setups for program in setup.programs]


# Where a word of the file stands, or is to be written.
_LINE = re.compile(r"mine\.yaml, line \d+|mine\.yaml yet: .*, line \d+")


def _names_a_word(fault: Fault) -> bool:
    """Whether a fault has its place in the machine file, or names a word and its line there."""
    return (bool(fault.place.line) and str(fault.place.file).endswith("mine.yaml")) or bool(
        _LINE.search(str(fault)))
