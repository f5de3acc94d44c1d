"""Small sound jobs of which every word is changed, one at a time, to see what is answered.

A word is made much or a little too small or too large, left out, or written where the job has none.
Whatever comes of it, the answer is a program that is proved or a fault with a place in the job
file; a proof that fails and nothing else would leave the reader to guess which word it was.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from camgen.faults import Fault, Refused
from camgen.make.causes.corrected_pair import pair_faults
from camgen.make.chain import proved_job
from camgen.proof.result import Proof
from camgen.steps import step_words

HOLDING = """
    holding: {by: shellac on brass, carrier: brass, carrier-thickness: 6, cut-into: 2.6,
              holds-slugs: true}
"""
JOBS = {
    "holes": f"""
job: holes
material: brass
post: with-cycles
plate:
  thickness: 1.2
  outline: {{circle: 8}}
  holes:
    pins: {{diameter: 0.8, at: [[0, 2.4]]}}
    wide: {{diameter: 1.5, at: [[2.2, 0]]}}
    blind: {{diameter: 0.8, depth: 0.6, at: [[-2.5, 0]]}}
    screws: {{thread: S1.0, countersink: 1.3, at: [[0, -2.4]]}}
cutters:
  cone: {{kind: spot-drill, diameter: 2.0, point-angle: 90, reach: 6}}
  sink: {{kind: countersink, diameter: 3, point-angle: 90, flutes: 3, reach: 8}}
  d076: {{kind: drill, diameter: 0.76, point-angle: 118, flute-length: 6, reach: 8}}
  d08: {{kind: drill, diameter: 0.8, flute-length: 6, reach: 8}}
  tm: {{kind: thread-mill, diameter: 0.6, pitch: 0.25, flutes: 3, reach: 2}}
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.0, reach: 2.4}}
  fine: {{kind: end-mill, diameter: 0.6, flutes: 2, flute-length: 2.0, reach: 2.4}}
setups:
  - name: one
    stock: {{sheet: [14, 14], thickness: 1.2}}{HOLDING}    safe-height: 5
    clearance: 0.5
    steps:
      - spot: {{cutter: cone, holes: [pins, wide, blind]}}
      - drill: {{cutter: d08, holes: [pins, wide, blind]}}
      - drill: {{cutter: d076, holes: [screws], depth: 2.0}}
      - bore: {{cutter: fine, holes: [wide]}}
      - countersink: {{cutter: sink}}
      - thread-mill: {{cutter: tm, thread: S1.0}}
      - outline: {{cutter: mill}}
""",
    "arbor": """
job: arbor
material: free-cutting-steel
post: with-cycles
turned:
  sections:
    - {diameter: 1.6, length: 3.0}
    - {diameter: 2.5, length: 4.0}
  flats:
    square: {count: 4, across: 1.2, length: 2.4}
cutters:
  mill: {kind: end-mill, diameter: 2.0, flutes: 2, flute-length: 4, reach: 12, shank: 3}
setups:
  - name: square
    held: {stands-out: 6.5, behind: [{collet: 8, length: 12}, {chuck: 30, length: 30}],
           arrangement: {along: -X, infeed: -Z, across: Y}}
    holding: {by: collet in the dividing head}
    steps:
      - mill-flats: {cutter: mill}
""",
    "ring": """
job: ring
material: brass
post: plain-iso
turned:
  sections:
    - {diameter: 10, length: 1.2}
    - {diameter: 12, length: 6}
  bore: 7.0
  holes:
    screws: {count: 6, diameter: 0.5, along: 0.6, depth: 0.9,
             counterbore: {diameter: 0.9, depth: 0.3}}
    tube: {angles: [30, 100], diameter: 1.0, along: 3.5}
cutters:
  spot: {kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 10}
  d05: {kind: drill, diameter: 0.5, flute-length: 5, reach: 12}
  d095: {kind: drill, diameter: 0.95, flute-length: 8, reach: 12}
  r1: {kind: reamer, diameter: 1.0, flute-length: 8, reach: 14}
  cb: {kind: counterbore, diameter: 0.9, flute-length: 4, reach: 12}
setups:
  - name: round
    held: {stands-out: 6.5, behind: [{collet: 18, length: 12}, {chuck: 30, length: 30}],
           arrangement: {along: -X, infeed: -Z, across: Y}}
    holding: {by: collet in the dividing head}
    steps:
      - spot: {cutter: spot}
      - drill: {cutter: d05, holes: [screws]}
      - counterbore: {cutter: cb, holes: [screws-counterbore]}
      - drill: {cutter: d095, holes: [tube]}
      - ream: {cutter: r1}
""",
    "stem": """
job: stem
material: brass
post: with-cycles
turned:
  sections:
    - {diameter: 3.0, length: 5.0}
    - {diameter: 4.0, length: 5.0}
  slots:
    key: {count: 2, width: 0.8, depth: 0.4, from: 1.0, length: 2.5}
    slit: {angles: [60, 260], width: 0.8, depth: 0.9, length: 3.0}
cutters:
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 1.6, reach: 8, shank: 3}
setups:
  - name: slots
    held: {stands-out: 9.0, behind: {collet: 8, length: 20},
           arrangement: {along: -X, infeed: -Z, across: Y}}
    holding: {by: collet in the dividing head}
    steps:
      - mill-slots: {cutter: mill}
""",
    "probed": f"""
job: probed
material: brass
post: with-cycles
plate:
  thickness: 1.2
  outline: {{circle: 8}}
  holes:
    pins: {{diameter: 1.5, at: [[0, 0]]}}
cutters:
  d15: {{kind: drill, diameter: 1.5, flute-length: 6, reach: 8}}
  ball: {{kind: probe, diameter: 1.0, shank: 0.6, reach: 8}}
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.0, reach: 2.4}}
setups:
  - name: one
    stock: {{sheet: [14, 14], thickness: 1.2}}{HOLDING}    steps:
      - drill: {{cutter: d15}}
      - probe: {{cutter: ball, hole: pins}}
      - outline: {{cutter: mill}}
""",
    "fine holes": f"""
job: fine holes
material: brass
post: with-cycles
plate:
  thickness: 1.2
  outline: {{circle: 9}}
  holes:
    pins: {{diameter: 0.8, fit: H7, at: [[0, 3]]}}
    pivot: {{diameter: 1.49, at: [[2.6, 0]]}}
    heads: {{diameter: 0.76, counterbore: {{diameter: 1.6, depth: 0.5}}, at: [[-2.6, 0]]}}
    screws: {{thread: S1.0, at: [[0, -3]]}}
cutters:
  d076: {{kind: drill, diameter: 0.76, flute-length: 6, reach: 8}}
  d078: {{kind: drill, diameter: 0.78, flute-length: 6, reach: 8}}
  d14: {{kind: drill, diameter: 1.48, flute-length: 6, reach: 8}}
  reamer: {{kind: reamer, diameter: 0.805, flutes: 4, flute-length: 6, reach: 8}}
  bar: {{kind: boring-bar, diameter: 1.49, shank: 0.6, reach: 4}}
  cb: {{kind: counterbore, diameter: 1.6, flutes: 3, flute-length: 4, reach: 8}}
  tap: {{kind: tap, diameter: 1.0, pitch: 0.25, flute-length: 5, reach: 8, material: hss}}
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.4, reach: 2.8}}
setups:
  - name: one
    stock: {{sheet: [14, 14], thickness: 1.2}}{HOLDING}    safe-height: 5
    clearance: 0.5
    steps:
      - drill: {{cutter: d076, holes: [heads, screws], depth: 2.6}}
      - drill: {{cutter: d078, holes: [pins], depth: 1.9}}
      - drill: {{cutter: d14, holes: [pivot]}}
      - ream: {{cutter: reamer, holes: [pins]}}
      - fine-bore: {{cutter: bar, holes: [pivot], come-out: feed}}
      - counterbore: {{cutter: cb, holes: [heads-counterbore]}}
      - tap: {{cutter: tap, holder-gives: 1.0, lead: 0.3}}
      - outline: {{cutter: mill}}
""",
    "pockets": f"""
job: pockets
material: brass
post: with-cycles
plate:
  thickness: 1.2
  outline: {{circle: 12}}
  pockets:
    bay: {{rectangle: [5, 4], corner: 0.6, depth: 0.4, at: [0, 2], islands: [{{circle: 1.2}}]}}
  openings:
    eye: {{circle: 2.4, at: [0, -3]}}
cutters:
  big: {{kind: end-mill, diameter: 4, flutes: 3, flute-length: 6, reach: 10}}
  mill: {{kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.0, reach: 2.4}}
setups:
  - name: one
    stock: {{sheet: [16, 16], thickness: 1.4}}{HOLDING}    safe-height: 5
    clearance: 0.5
    steps:
      - face: {{cutter: big}}
      - pocket: {{cutter: mill, pockets: [bay]}}
      - cut-out: {{cutter: mill}}
      - outline: {{cutter: mill, tabs: {{count: 3, width: 0.8, height: 0.3}}}}
""",
    "wheel": """
job: wheel
material: brass
post: plain-iso
quantity: 4
wheel:
  {teeth: 40, module: 0.2, mate: 10, thickness: 0.25, bore: 0.80,
   crossing: {arms: 4, hub: 2.4, rim: 0.6, arm: 0.5, corner: 0.25}}
cutters:
  spot: {kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 6}
  drill: {kind: drill, diameter: 0.60, flute-length: 5, reach: 6}
  mill: {kind: end-mill, diameter: 0.40, flutes: 2, flute-length: 0.8, reach: 1.6}
  teeth:
    {kind: form-disc, diameter: 20, flutes: 14, thickness: 2, reach: 20, arbor: 10,
     made-for: {form: cycloidal-wheel, module: 0.2, teeth: 40, mate: 10}}
setups:
  - name: blanks
    stock: {sheet: [20, 20], thickness: 0.25}
    holding: {by: shellac on a carrier, carrier: brass, carrier-thickness: 3, cut-into: 0.4,
              holds-slugs: true}
    steps:
      - spot: {cutter: spot}
      - drill: {cutter: drill}
      - bore: {cutter: mill}
      - cross-out: {cutter: mill}
      - outline: {cutter: mill}
  - name: teeth
    dividing: {stack: 4, backing: 1.5, arbor: 4, zero: touch, backing-diameter: 8,
               front: {nut: 3, length: 3}, tailstock: {centre: 1.0, body: 4, from: 10}}
    holding: {by: arbor with nut}
    safe-height: 5
    clearance: 0.5
    steps:
      - cut-teeth: {cutter: teeth, passes: 2, last-cut: 0.05}
""",
    "threaded post": f"""
job: threaded post
material: brass
post: with-cycles
plate:
  thickness: 1.2
  outline: {{circle: 10}}
  pockets:
    well: {{circle: 6.6, depth: 0.9}}
  posts:
    tube: {{circle: 2.95, thread: M3x0.35}}
cutters:
  tm: {{kind: thread-mill, diameter: 1.4, pitch: 0.35, flutes: 3, flute-length: 0.35, shank: 0.8,
       reach: 3}}
  mill: {{kind: end-mill, diameter: 1.5, flutes: 2, flute-length: 2.0, reach: 3}}
setups:
  - name: one
    stock: {{sheet: [16, 16], thickness: 1.2}}{HOLDING}    safe-height: 5
    clearance: 0.5
    steps:
      - pocket: {{cutter: mill}}
      - outside-thread: {{cutter: tm}}
      - outline: {{cutter: mill}}
""",
}
FACTORS = (0.02, 0.5, 0.97, 1.03, 2.0, 30.0)
ADDED = (0.002, 0.05, 0.3, 1.0, 4.0)


@dataclass(frozen=True)
class Change:
    """One word of a job changed: the way to it, and its value; None where it is left out."""

    job: str
    way: tuple[str | int, ...]
    value: Any

    def __str__(self) -> str:
        return f"{self.job}: {'.'.join(map(str, self.way))} -> {self.value}"

    @property
    def text(self) -> str:
        """The job file with it."""
        data = copy.deepcopy(yaml.safe_load(JOBS[self.job]))
        here = data
        for word in self.way[:-1]:
            here = here[word]
        if self.value is None:
            del here[self.way[-1]]
        else:
            here[self.way[-1]] = self.value
        return yaml.safe_dump(data, sort_keys=False, default_flow_style=None)


def changes(job: str) -> Iterator[Change]:
    """Every change of every word of a job."""
    data = yaml.safe_load(JOBS[job])
    for way, value in _leaves({key: data[key] for key in data if key not in ("job", "material",
                                                                             "post")}, ()):
        if isinstance(value, bool):
            yield Change(job, way, not value)
        elif isinstance(value, float | int):
            for factor in FACTORS:
                new = value * factor
                yield Change(job, way, max(1, round(new)) if isinstance(value, int)
                             and way[-1] in WHOLE else round(new, 6))
        if way[-1] not in ("kind", "name", "cutter") and not isinstance(way[-1], int):
            yield Change(job, way, None)
    kinds = step_words()
    for number, setup in enumerate(data["setups"]):
        for n, step in enumerate(setup["steps"]):
            (kind, said), = step.items()
            for name, field in kinds[kind].model_fields.items():
                word = field.alias or name.replace("_", "-")
                about = str(field.annotation)
                if word in said or not any(one in about for one in ("float", "int", "bool")):
                    continue
                at = ("setups", number, "steps", n, kind, word)
                if "bool" in about:
                    yield Change(job, at, not field.default)
                elif "float" in about:
                    yield from (Change(job, at, value) for value in ADDED)
                else:
                    yield from (Change(job, at, value) for value in (1, 3, 40))


WHOLE = ("teeth", "mate", "flutes", "count", "stack", "passes", "arms", "quantity")


def _leaves(data: Any, way: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _leaves(value, (*way, key))
    elif isinstance(data, list) and way[-1] not in ("at", "holes", "pockets"):
        for number, value in enumerate(data):
            yield from _leaves(value, (*way, number))
    elif not isinstance(data, list):
        yield way, data


def answer(text: str, folder: Path) -> tuple[tuple[Fault, ...], tuple[Proof, ...]]:
    """The faults that are named for a job, and the proofs that fail."""
    file = folder / "job.yaml"
    file.write_text(text, encoding="utf-8")
    try:
        proved = proved_job(file)
    except Refused as no:
        return no.faults, ()
    return tuple(pair_faults(proved.job_file)) if proved.failed else (), proved.failed
