"""``camgen mesh``: a wheel and its pinion, their sizes, depthing and action."""

from __future__ import annotations

import json
from dataclasses import asdict

import click

from camgen.teeth.cycloidal import LeafTop
from camgen.teeth.forms import PinionForm, pinion_tooth, wheel_tooth
from camgen.teeth.meshing import Action, centre_distance, closest_distance, roll
from camgen.teeth.tooth import Tooth, ToothSizes

__all__ = ["mesh"]

ROWS = (
    ("teeth", "teeth", "{:d}"),
    ("pitch diameter", "pitch_diameter", "{:.3f}"),
    ("tip diameter", "tip_diameter", "{:.3f}"),
    ("root diameter", "root_diameter", "{:.3f}"),
    ("whole depth", "whole_depth", "{:.3f}"),
    ("addendum", "addendum", "{:.3f}"),
    ("dedendum", "dedendum", "{:.3f}"),
    ("thickness along the pitch circle", "tooth_thickness", "{:.3f}"),
    ("thickness across, by caliper", "chordal_thickness", "{:.3f}"),
    ("… measured this far from the tip", "chordal_height", "{:.3f}"),
)


@click.command()
@click.argument("teeth", type=click.IntRange(min=4, max=1000))
@click.argument("module", type=click.FloatRange(min=0, min_open=True))
@click.argument("leaves", type=click.IntRange(min=4, max=1000))
@click.option("--form", type=click.Choice(["cycloidal", "involute"]), default="cycloidal",
              show_default=True)
@click.option("--leaf", type=click.Choice(["round", "one-third-ogive", "two-thirds-ogive"]),
              default="one-third-ogive", show_default=True, help="Top of a cycloidal leaf.")
@click.option("--pressure-angle", type=float, default=20.0, show_default=True, metavar="DEGREES",
              help="Involute teeth.")
@click.option("--shift", nargs=2, type=float, default=(0.0, 0.0), metavar="WHEEL PINION",
              help="Profile shifts of involute teeth, in modules.")
@click.option("--deviation", type=click.FloatRange(min=0), metavar="MM",
              help="Also roll so much nearer and farther; else a tenth of the module.")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def mesh(
    teeth: int, module: float, leaves: int, form: PinionForm, leaf: LeafTop,
    pressure_angle: float, shift: tuple[float, float], deviation: float | None, as_json: bool,
) -> None:
    """Sizes, depthing and action of a wheel of TEETH and MODULE driving a pinion of LEAVES.

    The pair is rolled through one pitch at nominal depthing, and nearer and farther.

    Example: camgen mesh 75 0.14 10
    """
    wheel = wheel_tooth(form, teeth, module, leaves, pressure_angle=pressure_angle,
                        profile_shift=shift[0])
    pinion = pinion_tooth(form, leaves, module, teeth, leaf, pressure_angle=pressure_angle,
                          profile_shift=shift[1])
    nominal = centre_distance(wheel, pinion)
    by = 0.1 * module if deviation is None else deviation
    places = [nominal - by, nominal, nominal + by] if by else [nominal]
    actions = [roll(wheel, pinion, place) for place in places]
    closest = closest_distance(wheel, pinion)
    if as_json:
        click.echo(json.dumps({
            "wheel": asdict(wheel.sizes), "pinion": asdict(pinion.sizes),
            "notes": [*wheel.notes, *pinion.notes],
            "centre_distance": nominal, "closest_centre_distance": closest,
            "actions": [{**asdict(action), "free": action.free} for action in actions],
        }, indent=2))
        return
    for line in [*_sizes(wheel, pinion), "", *_depthing(nominal, closest), "", *_action(actions)]:
        click.echo(line)


def _sizes(wheel: Tooth, pinion: Tooth) -> list[str]:
    lines = [f"{wheel.form.replace('-', ' ')} and pinion, module {wheel.sizes.module:g}", "",
             f"{'mm':<34} {'wheel':>9} {'pinion':>9}"]
    for label, name, shape in ROWS:
        one, other = (shape.format(_value(tooth.sizes, name)) for tooth in (wheel, pinion))
        lines.append(f"{label:<34} {one:>9} {other:>9}")
    lines += [f"wheel: {note}" for note in wheel.notes]
    lines += [f"pinion: {note}" for note in pinion.notes]
    return lines


def _value(sizes: ToothSizes, name: str) -> float | int:
    value: float | int = getattr(sizes, name)
    return value


def _depthing(nominal: float, closest: float) -> list[str]:
    return [f"depthing: centres {nominal:.3f} mm apart; "
            + (f"they foul below {closest:.3f}" if closest <= nominal
               else f"they foul already, free from {closest:.3f} on")]


def _action(actions: list[Action]) -> list[str]:
    def row(label: str, values: list[str]) -> str:
        return f"{label:<34} " + " ".join(f"{value:>11}" for value in values)

    return [
        row("centres apart, mm", [f"{one.centre_distance:.3f}" for one in actions]),
        row("turns freely", ["yes" if one.free else "NO" for one in actions]),
        row("overlap, µm", [f"{one.interference:.1f}" for one in actions]),
        row("least play at the pitch circle, µm", [f"{one.backlash[0]:.1f}" for one in actions]),
        row("greatest play", [f"{one.backlash[1]:.1f}" for one in actions]),
        row("gap at the pinion's root, mm", [f"{one.clearance[0]:.3f}" for one in actions]),
        row("gap at the wheel's root, mm", [f"{one.clearance[1]:.3f}" for one in actions]),
        row("largest error of the ratio, %", [f"{one.ratio_error * 100:.1f}" for one in actions]),
        row("pinion off even motion, µm", [f"{one.lag_micrometres:.1f}" for one in actions]),
        row("wheel drives before centres, deg", [f"{one.before:.2f}" for one in actions]),
        row("… and after", [f"{one.after:.2f}" for one in actions]),
    ]
