"""``camgen speeds``: speed, feed and depth for one cutter in one material, each limit named.

Lengths mm, speeds m/min, feeds mm/min.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from camgen.commands.reference.materials import source_lines
from camgen.commands.terminal.figures import ABOVE_ZERO, NamedPath, picture_format
from camgen.commands.terminal.screen import aligned, columns, in_spoken, tell, wrong_use
from camgen.cutting.explain import explain, limit_rows, limit_table
from camgen.cutting.planner import CutPlan, plan_cut
from camgen.cutting.region import feasible_region, what_would_help
from camgen.faults import Fault, Refused, parted
from camgen.make.runs.findings import findings_of
from camgen.messages import Message, tabled
from camgen.shop.cutters import Cutter, cutter_text, find_cutter
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.shop.materials import Material, find_material
from camgen.writing import write_whole

__all__ = ["speeds"]


@click.command()
@click.option("--material", "material_name", required=True, metavar="NAME",
              help="What is cut, such as brass, gold-750, pinion-steel.")
@click.option("--cutter", "cutter_words", required=True, metavar="WORDS",
              help="The cutter in trade words, such as 'end-mill 0.4 2 flutes reach 1.6', or "
              "the name of one in the workshop's cutters.yaml.")
@click.option("--post", default="plain-iso", show_default=True, metavar="NAME",
              help="The machine file whose spindle and axes are meant.")
@click.option("--width", type=ABOVE_ZERO, metavar="MM",
              help="Width of the cut; else a full slot. Thread mills: the thread's diameter.")
@click.option("--depth", type=ABOVE_ZERO, metavar="MM", help="Depth wanted, in passes if need be.")
@click.option("--at-once", is_flag=True, help="The whole depth in one pass; the chip gives way.")
@click.option("--speed", type=ABOVE_ZERO, metavar="RPM", help="Keep to this spindle speed.")
@click.option("--feed", type=ABOVE_ZERO, metavar="MM/MIN", help="Keep to this feed.")
@click.option("--keep", is_flag=True, help="Keep to what the workshop found with this cutter.")
@click.option("--picture", type=NamedPath(path_type=Path, dir_okay=False), metavar="FILE",
              help="Draw depth against feed, with every limit: .png, .svg or .pdf.")
@click.option("--sources", is_flag=True, help="Also where the material's values come from.")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def speeds(
    material_name: str, cutter_words: str, post: str, width: float | None, depth: float | None,
    at_once: bool, speed: float | None, feed: float | None, keep: bool, picture: Path | None,
    sources: bool, as_json: bool,
) -> None:
    """Speed, feed and depth for one cutter and material, with every limit and how far it is.

    Run in a workshop folder, its own table of materials and its records of past runs are used.

    Example: camgen speeds --material brass --cutter 'end-mill 0.4 2 flutes reach 1.6'
    """
    workshop = Path.cwd()
    material, cutter, machine = _meant(material_name, cutter_words, post, workshop)
    if at_once and depth is None:
        raise wrong_use(Message("--at-once needs --depth"))
    drawn_as = picture_format(picture) if picture is not None else "png"
    found = findings_of(workshop, material_name, [cutter])

    def plan(stuff: Material, tool: Cutter, mill: Machine, wide: float | None,
             deep: float | None) -> CutPlan:
        return plan_cut(stuff, tool, mill, wide, deep, keep_depth=at_once, speed=speed, feed=feed,
                        findings=found, keep_to_findings=keep)

    try:
        cut = plan(material, cutter, machine, width, depth)
    except Refused as no:
        helps = what_would_help(plan, material, cutter, machine, width, depth)
        raise Refused([*no.faults, Fault(
            Message("no safe choice"),
            Message("each of these alone would do: {helps}", helps=parted(helps))
            if helps else Message("none of the usual changes alone would do"))]) from None
    if picture is not None:
        from camgen.commands.terminal.speeds_picture import draw_region

        region = feasible_region(material, cutter, machine, width, cut)
        heading = in_spoken(Message(
            "{cutter}\nin {material}, on {machine}", cutter=cutter_text(cutter),
            material=material.title, machine=machine.name))
        write_whole(picture, draw_region(region, cut, heading, drawn_as, in_spoken))
    if as_json:
        click.echo(json.dumps(_for_a_program(cut, material, cutter, machine), indent=2,
                              ensure_ascii=False))
        return
    tell(Message("{cutter}, in {material}, on {machine}\n", cutter=cutter_text(cutter),
                 material=material.title, machine=machine.name))
    if "material" not in cutter.model_fields_set:
        tell(Message("taken as {material}, for no material is said: add hss to the cutter's words "
                     "where it is high-speed steel\n",
                     material=Message("carbide")))
    for line in (*explain(cut), ""):
        tell(line)
    whole = limit_table(cut, in_spoken)
    fits = max(map(len, whole)) <= columns()
    for line in whole if fits else _narrow_table(cut):
        tell(line, rest="    ")
    for caution in cut.cautions:
        tell(Message("\ncaution: {caution}", caution=tabled(caution, "materials")))
    if sources:
        tell("")
        for line in source_lines(material):
            tell(line)


def _narrow_table(cut: CutPlan) -> list[str]:
    """The limits in less room: what governs has a star, a unit told once is not told again."""
    rows = [[f"  {in_spoken(Message('limit'))}",
             *map(in_spoken, (Message("here"), Message("bound"), Message("used")))]]
    for name, here, bound, used, state in limit_rows(cut):
        here, bound = in_spoken(here), in_spoken(bound)
        figure, _, unit = here.partition(" ")
        same = unit and bound.endswith(f" {unit}")
        rows.append([f"{'*' if state == 'governs' else '!' if state else ' '} {in_spoken(name)}",
                     figure if same else here, bound, used])
    return [*aligned(rows), in_spoken(Message("* governs"))]


def _meant(material_name: str, cutter_words: str, post: str,
           workshop: Path) -> tuple[Material, Cutter, Machine]:
    """What the words mean. Raises Refused with all that is wrong with any of them."""
    faults: list[Fault] = []
    meant: list[Any] = []
    for find in (lambda: find_material(material_name, workshop),
                 lambda: find_cutter(cutter_words, workshop), lambda: find_machine(post, workshop)):
        try:
            meant.append(find())
        except Refused as no:
            faults += no.faults
    if faults:
        raise Refused(faults)
    material, cutter, machine = meant
    return material, cutter, machine


def _for_a_program(cut: CutPlan, material: Material, cutter: Cutter,
                   machine: Machine) -> dict[str, Any]:
    return {
        "material": material.name, "cutter": cutter_text(cutter), "post": machine.name,
        "speed": cut.speed, "surface_speed": cut.surface_speed, "feed": cut.feed,
        "chip_load": cut.chip_load, "depth": cut.depth, "width": cut.width, "passes": cut.passes,
        "plunge_feed": cut.plunge_feed, "ramp_feed": cut.ramp_feed, "ramp_angle": cut.ramp_angle,
        "peck": cut.peck, "peak_chip": cut.peak_chip, "mean_chip": cut.mean_chip,
        "force": cut.force, "tangential": cut.tangential, "radial": cut.radial,
        "torque": cut.torque, "power": cut.power, "deflection": cut.deflection,
        "governed_by": dict(cut.governed_by),
        "limits": [{"name": limit.name, "used": limit.used, "limit": limit.value,
                    "unit": limit.unit, "share": limit.share, "governs": limit.governs,
                    "least": limit.least} for limit in cut.limits],
        "warnings": list(cut.warnings), "findings": list(cut.findings),
        "own_values": list(cut.own_values), "cautions": list(cut.cautions),
    }
