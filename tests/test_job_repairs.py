"""Repair jobs whole, from words to proofs: what a repairer measures, and in which order."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from sampling import sampled

from camgen.faults import Refused
from camgen.make.chain import Proved, Wish, proved_job
from camgen.reader.motion import Kind

JOB = """job: repair
material: brass-leaded
post: {post}
quantity: 1
made-elsewhere: [bore, outline]
{part}
cutters:
  t: {{kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 8, shank: 6,
      reach: 15, made-for: {{{made}}}}}
setups:
  - name: teeth
    dividing: {{stack: 1, backing: 2, arbor: {arbor}, zero: touch,
               front: {{nut: {arbor}, length: 4}},
               tailstock: {{centre: {arbor}, body: 10, from: 14}}}}
    holding: {{by: arbor with nut between head and tailstock}}
    steps:
      - cut-teeth: {{cutter: t, passes: 2{step}}}
"""

# By name: the part, what the cutter was made for, the arbor, and sizes the teeth must have, mm.
REPAIRS = {
    "centre wheel": (
        "wheel: {teeth: 64, module: 0.2, mate: 8, tip-diameter: 13.32, root-diameter: 12.10, "
        "tooth-width: 0.30, thickness: 0.5, bore: 2}",
        "form: cycloidal-wheel, module: 0.2, teeth: 64, mate: 8, root-diameter: 12.10, "
        "tooth-width: 0.30", 4, (13.32, 12.10, 0.30)),
    "pinion": (
        "pinion: {leaves: 8, module: 0.2, mate: 64, tip-diameter: 1.83, root-diameter: 0.86, "
        "length: 2}",
        "form: cycloidal-pinion, module: 0.2, teeth: 8, mate: 64, root-diameter: 0.86", 0.7,
        (1.83, 0.86, 0.21)),
    "involute with backlash": (
        "wheel: {form: involute, teeth: 48, module: 0.3, mate: 16, backlash: 0.02, thickness: 0.8, "
        "bore: 2}",
        "form: involute, module: 0.3, teeth: 48, backlash: 0.02", 4, (15.0, 13.65, 0.4512)),
    "motion work": (
        "wheel: {teeth: 48, module: 0.2, mate: 12, driver: pinion, thickness: 0.4, bore: 1}",
        "form: cycloidal-wheel, module: 0.2, teeth: 48, mate: 12, driver: pinion", 4,
        (9.85, 8.793, 0.25)),
    "sector": (
        "wheel: {teeth: 60, module: 0.2, mate: 8, only: [7, 18], thickness: 0.5, bore: 2}",
        "form: cycloidal-wheel, module: 0.2, teeth: 60, mate: 8", 4, (12.589, 11.372, 0.3142)),
    "stop-work": (
        "wheel: {form: ratchet, teeth: 12, module: 0.5, depth: 0.6, only: [1, 4], thickness: 0.6, "
        "bore: 1.5}",
        "form: ratchet, module: 0.5, teeth: 12, depth: 0.6", 3, (6.0, 4.8, 0.075)),
    "round bottom": (
        "wheel: {teeth: 70, module: 0.15, mate: 7, proportions: round-bottom, thickness: 0.4, "
        "bore: 1}",
        "form: cycloidal-wheel, module: 0.15, teeth: 70, mate: 7, proportions: round-bottom", 4,
        (10.875, 9.975, 0.2115)),
}


def text_of(name: str, post: str = "plain-iso", step: str = "") -> str:
    part, made, arbor, _ = REPAIRS[name]
    return JOB.format(part=part, made=made, arbor=arbor, post=post, step=step)


def proved(folder: Path, text: str, wish: Wish | None = None) -> Proved:
    path = folder / "repair.yaml"
    path.write_text(text)
    return proved_job(path, wish or Wish())


def angles_cut(found: Proved) -> set[int]:
    """Degrees, in thousandths, at which anything was fed through the stack, as read back."""
    motion = found.setups[0].evidence.motion
    return {round(1000 * angle) % 360_000
            for angle in np.unique(motion.angle_end[motion.kind == Kind.LINE]).tolist()}


@pytest.mark.parametrize("name", REPAIRS)
def test_a_repair_is_made_and_proved_with_the_sizes_measured(name: str, tmp_path: Path) -> None:
    found = proved(tmp_path, text_of(name))
    assert found.failed == ()
    sizes = found.job_file.job.part.tooth().sizes
    assert (sizes.tip_diameter, sizes.root_diameter, sizes.tooth_thickness) == pytest.approx(
        REPAIRS[name][3], abs=5e-4)


@pytest.mark.parametrize(("name", "post", "step"), sampled([
    (name, post, step) for name in ("sector", "stop-work")
    for post in ("plain-iso", "hand-dividing", "shortest-way-rotary", "signed-rotary-inverse-time",
                 "upright-rotary-horizontal-cutter")
    for step in ("", ", order: each-round", ", trial-spaces: 2, trial-short: 0.1")], 4))
def test_part_circles_hold_in_every_order_on_every_head(name, post, step, tmp_path) -> None:
    found = proved(tmp_path, text_of(name, post, step))
    assert found.failed == ()
    teeth, first, last = (60, 7, 18) if name == "sector" else (12, 1, 4)
    wanted = {round(360_000 * (space - 1) / teeth) % 360_000 for space in range(first, last + 1)}
    if post == "plain-iso":
        assert angles_cut(found) == wanted
    again = proved(tmp_path, text_of(name, post, step), Wish(from_space=first + 2, setup="teeth"))
    assert again.failed == ()
    with pytest.raises(Refused, match="there is no space"):
        proved(tmp_path, text_of(name, post, step), Wish(from_space=last + 1, setup="teeth"))


def test_a_dry_index_goes_to_the_spaces_of_the_sector(tmp_path: Path) -> None:
    found = proved(tmp_path, text_of("sector"), Wish(dry_index=True))
    motion = found.setups[0].evidence.motion
    turned = {round(60 * angle / 360) + 1 for angle in motion.angle_end[motion.kind == Kind.INDEX]
              if abs(60 * angle / 360 - round(60 * angle / 360)) < 1e-6}
    # At the end it is turned back to where it stands at zero.
    assert turned - {1} == set(range(7, 19))
    assert motion.angle_end[-1] == 0.0
