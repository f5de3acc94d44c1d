"""Jobs as one writes them with cutters from the drawer, through the whole chain.

Figures of charts as in the tests of bought cutters: blanks (N + 2.76) m, round bottoms
(N + 2.50) m, over 8 leaves 9.71 m, over 12 leaves 13.61 m.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from sampling import sampled

from camgen.make.chain import proved_job
from camgen.part.plates.plate import Plate
from camgen.shop.cutters import Cutter, GroundChart, made_for

HEAD = """job: from the drawer
material: brass-leaded
made-elsewhere: [bore, outline]
"""
DISC = """kind: form-disc, diameter: 20, flutes: 14, material: hss, thickness: 2, arbor: 12,
      shank: 8, reach: 20"""
ON_ARBOR = """setups:
  - name: teeth
    dividing: {stack: 2, backing: 3, arbor: 3, front: {nut: 2.5, length: 3}, slender: true}
    steps:
      - cut-teeth: {cutter: t}
"""
FROM_SOLID = """setups:
  - name: leaves
    dividing: {stack: 1, backing: 3, arbor: 1, front: {nut: 1, length: 3}}
    steps:
      - cut-teeth: {cutter: t, passes: 2}
"""
# A space as wide below the pitch circle as a chart's and opened by a straight bevel above.
TRACE = "".join(f"{x:.4f};{y:.4f}\n".replace(".", ",") for x, y in [
    *((0.0235 * n, 0.0) for n in range(11)), *((0.2358, 0.025 * n) for n in range(1, 20)),
    *((0.2358 + 0.0105 * n, 0.475 + 0.02 * n) for n in range(1, 22))])
JOBS = {
    "fly cutter, round bottom": (HEAD + """
wheel: {teeth: 60, module: 0.3, thickness: 0.4, bore: 0.8, mate: 10, tooth: as-cut}
cutters:
  t: {kind: fly-cutter, diameter: 16, flutes: 1, material: hss, shank: 6, reach: 15,
      ground: {module: 0.3, proportions: wheel-round-bottom}}
""" + ON_ARBOR, 62.5 * 0.3),
    "deep form, the pinion's own cutter": (HEAD + f"""
wheel: {{teeth: 64, module: 0.25, thickness: 0.4, bore: 0.8, mate: 8, tooth: as-cut,
  mate-cutter: p}}
cutters:
  t: {{{DISC}, ground: {{module: 0.25, proportions: wheel-deep}}}}
  p: {{{DISC}, ground: {{module: 0.25, proportions: pinion, leaves: 8}}}}
""" + ON_ARBOR, 66.76 * 0.25),
    "pinion of eight": (HEAD.replace("bore, ", "") + f"""
pinion: {{leaves: 8, module: 0.3, length: 2, mate: 60, tooth: as-cut, mate-cutter: w}}
cutters:
  t: {{{DISC}, ground: {{module: 0.3, proportions: pinion, leaves: 8}}}}
  w: {{{DISC}, ground: {{module: 0.3, proportions: wheel}}}}
""" + FROM_SOLID, 9.71 * 0.3),
    "motion work, a chart's own figures": (HEAD.replace("bore, ", "") + f"""
pinion: {{leaves: 12, module: 0.3, length: 2, mate: 36, driver: pinion, tooth: as-cut}}
cutters:
  t: {{{DISC}, ground: {{module: 0.3, leaves: 12, tip: 13.61, root: 7.8, thickness: 1.25,
      top: one-third-ogive}}}}
""" + FROM_SOLID, 13.61 * 0.3),
    "a trace with decimal commas": (HEAD + f"""
wheel: {{teeth: 60, module: 0.3, thickness: 0.4, bore: 0.8, mate: 10, tooth: as-cut}}
cutters:
  t: {{{DISC}, profile: {{file: trace.csv, depth: 0.885, addendum: 0.414}}}}
""" + ON_ARBOR, 62.76 * 0.3),
    "a cutter made for forty": (HEAD + f"""
wheel: {{teeth: 45, module: 0.3, thickness: 0.4, bore: 0.8, mate: 10, tooth: as-cut}}
cutters:
  t: {{{DISC}, made-for: {{form: cycloidal-wheel, module: 0.3, teeth: 40, mate: 10}}}}
""" + ON_ARBOR, None),
}


@pytest.mark.parametrize("name", sampled(list(JOBS), 3, 1))
def test_a_job_with_a_cutter_from_the_drawer_is_proved_and_told(tmp_path: Path, name: str) -> None:
    text, tip = JOBS[name]
    (tmp_path / "trace.csv").write_text(TRACE)
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    proved = proved_job(tmp_path / "job.yaml")
    assert proved.failed == (), [str(one.where) for one in proved.failed]
    part = proved.job_file.job.part
    assert not isinstance(part, Plate)
    sizes = part.tooth().sizes
    if tip is not None:
        assert sizes.tip_diameter == pytest.approx(tip, abs=0.0006)
    notes = " ".join(proved.setups[0].planned.notes)
    assert f"blank {sizes.tip_diameter:.3f} mm" in notes
    assert "it turns freely, with" in notes


@pytest.mark.parametrize("own", [
    "proportions: wheel", "proportions: wheel-deep, depth: 3.3", "proportions: wheel-round-bottom",
    "proportions: pinion, leaves: 8", "addendum: 1.3, radius: 1.9, thickness: 1.5, depth: 2.9"])
def test_a_bought_cutter_is_told_by_its_charts_figures(own: str) -> None:
    """As written or as the job has it with its chart written out, nothing is told that is not."""
    ground = GroundChart.model_validate({"module": 0.3, **yaml.safe_load(f"{{{own}}}")})
    written = ground.written_out()
    for one in (ground, written):
        told = str(made_for(Cutter(kind="form-disc", diameter=20, ground=one)))
        assert "None" not in told
        assert all(f"{word}: " in told for word in one.model_fields_set
                   if word != "proportions" or one is ground), told
    figure = "tip: 9.71" if "pinion" in own else f"depth: {written.depth}"
    assert figure in told
