"""``camgen materials``: what may be cut, with the figures that matter at the machine."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from camgen.commands.terminal.screen import in_spoken, narrowed, tell
from camgen.messages import Message, tabled
from camgen.shop.materials import Material, also_called, find_material, material_names
from camgen.shop.tables import source

__all__ = ["materials", "source_lines"]


@click.command()
@click.argument("name", default="")
def materials(name: str) -> None:
    """Materials: all by name, or every figure of NAME with its source.

    Run in a workshop folder, its own table of materials is used. Speeds in m/min, density in g/cm³.

    Example: camgen materials brass
    """
    workshop = Path.cwd()
    if name:
        found = find_material(name, workshop)
        for line in source_lines(found):
            tell(line)
        for caution in found.cautions:
            tell(Message("caution: {caution}", caution=tabled(caution, "materials")))
        return
    every = [find_material(one, workshop) for one in material_names(workshop)]
    rows = [[in_spoken(Message("name")), in_spoken(Message("what it is")), "hss", "carbide",
             "g/cm³", in_spoken(Message("also"))]]
    rows += [[one.name, in_spoken(one.title), _speed(one, "hss"), _speed(one, "carbide"),
              f"{one.density.value:g}", ", ".join(also_called(one.name)[:2])] for one in every]
    for line in narrowed(rows, 5, 1):
        click.echo(line)
    tell(Message("Surface speeds to begin with, m/min, for cutters of each material. With every "
                 "figure and its source:  camgen materials {name}", name=every[0].name))


def _speed(material: Material, cutter: Any) -> str:
    found = material.surface_speed.get(cutter)
    return f"{found.value:g}" if found else "–"


def source_lines(material: Material) -> tuple[str, ...]:
    """Each value of a material with its range and source."""
    lines: list[str] = [Message("{material}, group {group}:", material=material.title,
                                group=material.group)]
    keys: dict[str, str] = {}
    values: list[tuple[str, Any]] = [
        (word.replace("_", "-"), getattr(material, word)) for word in
        ("density", "kc1", "mc", "chip_load", "chip_most", "drill_feed", "form_chip", "slot_depth",
         "chip_bulk", "least_chip")]
    values += [(f"surface-speed {name}", speed) for name, speed in material.surface_speed.items()]
    if material.fineness is not None:
        values.append(("fineness", material.fineness))
    for name, value in values:
        mark = f"{value.source} {value.date}".strip() if value.own else f"[{value.source}]"
        lines.append(f"  {name}: {in_spoken(value.told)} {mark}")
        if not value.own:
            found = source(value.source)
            keys[value.source] = f"[{found.key}] {found.kind}, {found.date}: {found.text}"
    return (*lines, *keys.values())
