"""``camgen mesh``: a wheel and its pinion, their sizes, depthing and action.

Lengths mm, angles degrees.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import click

from camgen.commands.terminal.choice import OneOf
from camgen.commands.terminal.figures import ANY, TrueNumber
from camgen.commands.terminal.screen import in_spoken, tell
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.cutters import GroundChart, Traced
from camgen.teeth.cut.as_cut import CutTooth, FormError, as_cut_tooth, form_error
from camgen.teeth.cut.bought import CutterSpace, space_beside
from camgen.teeth.form import Ratio
from camgen.teeth.forms import FORMS, form_named, pinion_tooth, wheel_tooth
from camgen.teeth.meshing import Action, centre_distance, closest_distance, roll
from camgen.teeth.outlines.cycloidal import ADDENDUM, TOPS, LeafTop
from camgen.teeth.pairs import Runs, runs_said
from camgen.teeth.tooth import Tooth, ToothSizes

__all__ = ["mesh", "ratio_sentence"]

# Chord error of the cutter's profile, mm.
PROFILE = 0.000002

# Wheel cutters by the charts that are shipped.
WHEEL_CHARTS = ["wheel", "wheel-deep", "wheel-short", "wheel-round-bottom"]

# The forms whose pairs roll.
ROLLING = [form.name for form in FORMS if form.ratio is not None]

ROWS = (
    (Message("teeth"), "teeth", "{:d}"),
    (Message("pitch diameter"), "pitch_diameter", "{:.3f}"),
    (Message("tip diameter"), "tip_diameter", "{:.3f}"),
    (Message("root diameter"), "root_diameter", "{:.3f}"),
    (Message("whole depth"), "whole_depth", "{:.3f}"),
    (Message("addendum"), "addendum", "{:.3f}"),
    (Message("dedendum"), "dedendum", "{:.3f}"),
    (Message("thickness along the pitch circle"), "tooth_thickness", "{:.3f}"),
    (Message("thickness across, by caliper"), "chordal_thickness", "{:.3f}"),
    (Message("… measured this far from the tip"), "chordal_height", "{:.3f}"),
)


@click.command()
@click.argument("teeth", type=click.IntRange(min=4, max=1000))
@click.argument("module", type=TrueNumber(min=0.01, max=50))
@click.argument("leaves", type=click.IntRange(min=4, max=1000))
@click.option("--form", type=OneOf(ROLLING), default=ROLLING[0],
              show_default=True)
@click.option("--leaf", type=OneOf(list(TOPS)), default=ADDENDUM.default,
              show_default=True, help="Top of a cycloidal leaf.")
@click.option("--pressure-angle", type=ANY, default=20.0, show_default=True, metavar="DEGREES",
              help="Involute teeth.")
@click.option("--shift", nargs=2, type=ANY, default=(0.0, 0.0), metavar="WHEEL PINION",
              help="Profile shifts of involute teeth, in modules.")
@click.option("--driver", type=OneOf(["wheel", "pinion"]), default="wheel", show_default=True,
              help="Which drives: the pinion in motion work.")
@click.option("--backlash", nargs=2, type=ANY, default=(0.0, 0.0), metavar="WHEEL PINION",
              help="How much thinner involute teeth are for play, mm.")
@click.option("--deviation", type=TrueNumber(min=0), metavar="MM",
              help="Also roll so much nearer and farther; else a tenth of the module.")
@click.option("--cutter-teeth", type=click.IntRange(min=4, max=1000), metavar="N",
              help="The wheel is cut by a form cutter made for N teeth.")
@click.option("--ground", type=OneOf(WHEEL_CHARTS), metavar="CHART",
              help="The wheel is cut by a bought cutter of these usual proportions: wheel, "
              "wheel-deep, wheel-short, wheel-round-bottom; --cutter-teeth is then the number it "
              "is drawn for.")
@click.option("--profile", "trace", type=click.Path(path_type=Path, exists=True, dir_okay=False),
              metavar="FILE", help="The wheel is cut by a cutter whose profile was traced, in mm.")
@click.option("--as-cut", is_flag=True,
              help="Depth and blank are what that cutter makes, not those of the form.")
@click.option("--mate-ground", is_flag=True,
              help="The pinion is what a bought cutter of usual proportions makes.")
@click.option("--deeper", type=ANY, default=0.0, metavar="MM",
              help="The wheel is cut so much deeper than its whole depth.")
@click.option("--off-centre", type=ANY, default=0.0, metavar="MM",
              help="The cutter stands so far from centre height.")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def mesh(
    teeth: int, module: float, leaves: int, form: str, leaf: LeafTop,
    pressure_angle: float, shift: tuple[float, float], driver: str,
    backlash: tuple[float, float], deviation: float | None,
    cutter_teeth: int | None, ground: str | None, trace: Path | None, as_cut: bool,
    mate_ground: bool, deeper: float, off_centre: float, as_json: bool,
) -> None:
    """Sizes, depthing and action of a wheel of TEETH and MODULE driving a pinion of LEAVES.

    The pair is rolled through one pitch at nominal depthing, and nearer and farther.

    Example: camgen mesh 75 0.14 10

    What a cutter for 60 teeth would make of it: camgen mesh 75 0.14 10 --cutter-teeth 60

    And a bought one, as it comes out: camgen mesh 75 0.14 10 --ground wheel --as-cut
    """
    wheel, made_for = (
        wheel_tooth(form, count, module, leaves, pressure_angle=pressure_angle,
                    profile_shift=shift[0], driver=driver, backlash=backlash[0] or None)
        for count in (teeth, cutter_teeth or teeth)
    )
    pinion = pinion_tooth(form, leaves, module, teeth, addendum=leaf, pressure_angle=pressure_angle,
                          profile_shift=shift[1], driver=driver, backlash=backlash[1] or None)
    line = cutter_line(module, cutter_teeth, ground, trace)
    if line is None and (cutter_teeth is not None or as_cut):
        line = space_beside(made_for)
    if as_cut and line is not None:
        wheel = line.tooth(wheel)
    if mate_ground:
        chart = GroundChart(module=module, proportions="pinion", leaves=leaves)
        pinion = chart.space().tooth(pinion)
    nominal = centre_distance(wheel, pinion)
    by = 0.1 * module if deviation is None else deviation
    places = [nominal - by, nominal, nominal + by] if by else [nominal]
    rolled: Tooth | CutTooth = wheel
    error: FormError | None = None
    if line is not None or deeper or off_centre:
        made = (made_for.space(PROFILE, wheel.sizes.whole_depth / 2)
                if line is None or not (as_cut or ground or trace) else
                line.polygon(wheel.root_radius, wheel.tip_radius + wheel.sizes.whole_depth / 2))
        error = form_error(wheel, made, [360 * space / teeth for space in range(teeth)],
                           depth_offset=deeper, height_offset=off_centre)
        rolled = as_cut_tooth(wheel, made, depth_offset=deeper, height_offset=off_centre)
    one, other = (rolled, pinion) if driver == "wheel" else (pinion, rolled)
    actions = [roll(one, other, place) for place in places]
    closest = closest_distance(one, other)
    if as_json:
        click.echo(json.dumps({
            "wheel": asdict(wheel.sizes), "pinion": asdict(pinion.sizes),
            "notes": [*wheel.notes, *pinion.notes],
            "centre_distance": nominal, "closest_centre_distance": closest,
            "as_cut": None if error is None else asdict(error),
            "actions": [{**asdict(action), "free": action.free} for action in actions],
        }, indent=2))
        return
    tell(Message("{form} wheel and pinion, module {module:g}\n", form=form, module=module))
    ratio = form_named(form).ratio
    assert ratio is not None
    middle = actions[len(actions) // 2]
    for told in [*_sizes(wheel, pinion), "", *_as_cut(error), *_depthing(nominal, closest), "",
                 *_action(actions, driver), "", ratio_sentence(ratio, middle.ratio_error),
                 *([Message("In short: {runs}.", runs=runs_said(Runs(middle, closest)))]
                   if line is not None or mate_ground else [])]:
        tell(told)


def cutter_line(
    module: float, drawn_for: int | None, ground: str | None, trace: Path | None
) -> CutterSpace | None:
    """The line of the cutter that a chart or a trace says; None where neither is asked for.

    Raises Refused where they make none.
    """
    if ground is not None and trace is not None:
        raise Refused(Fault(Message("--ground and --profile both say what the cutter leaves"),
                            Message("give one of them")))
    if ground is not None:
        return GroundChart.model_validate(
            {"module": module, "proportions": ground, "teeth": drawn_for}).space()
    if trace is not None:
        from camgen.job.joined.cut_by import trace_of

        return trace_of(trace, Traced(file=str(trace))).space()
    return None


def ratio_sentence(ratio: Ratio, error: float) -> Message:
    """Whether a ratio error (a share) at nominal depthing is usual for the form.

    >>> good, why = Message("as it should be"), Message("such teeth are even")
    >>> ratio_sentence(Ratio(0.01, good, why), 0.0)[:43]
    'Ratio at nominal depthing: 0.0 % off at mos'
    """
    found = Message("Ratio at nominal depthing: {error:.1f} % off at most", error=error * 100)
    if error <= ratio.usual:
        return Message("{found}, {good}: {why}.", found=found, good=ratio.good, why=ratio.why)
    if not ratio.amiss:
        return Message("{found}, more than usual: {why}.", found=found, why=ratio.why)
    return Message("{found}, more than usual: {why}, so {amiss}.", found=found, why=ratio.why,
                   amiss=ratio.amiss)


def _as_cut(error: FormError | None) -> list[str]:
    if error is None:
        return []
    thin, thick = (round(value, 1) + 0.0 for value in error.thickness)
    thickness = (f"{thin:+.1f}" if thin == thick else
                 in_spoken(Message("{least:+.1f} to {most:+.1f}", least=thin, most=thick)))
    lines: list[str] = [Message("the wheel as cut, against the one above:")]
    wide = _label_width()
    for label, found, where in ((Message("material left"), error.left, error.left_where),
                                (Message("material missing"), error.missing, error.missing_where)):
        lines.append(f"{in_spoken(label):<{wide}} {found:9.1f} µm"
                     + (f", {in_spoken(where)}" if found >= 0.05 else ""))
    label = Message("thickness along the pitch circle")
    return [*lines, f"{in_spoken(label):<{wide}} {thickness:>9} µm", ""]


def _label_width() -> int:
    return max(34, *(len(in_spoken(label)) for label, _, _ in ROWS))


def _sizes(wheel: Tooth, pinion: Tooth) -> list[str]:
    wide = _label_width()
    heads = (in_spoken(Message("wheel")), in_spoken(Message("pinion")))
    lines = [f"{'mm':<{wide}} {heads[0]:>9} {heads[1]:>9}"]
    for label, name, shape in ROWS:
        one, other = (shape.format(_value(tooth.sizes, name)) for tooth in (wheel, pinion))
        lines.append(f"{in_spoken(label):<{wide}} {one:>9} {other:>9}")
    lines.append(Message("by caliper: straight across one tooth at its pitch circle, the depth "
                         "stop set that far below the tip"))
    lines += [Message("wheel: {note}", note=note) for note in wheel.notes]
    lines += [Message("pinion: {note}", note=note) for note in pinion.notes]
    return lines


def _value(sizes: ToothSizes, name: str) -> float | int:
    value: float | int = getattr(sizes, name)
    return value


def _depthing(nominal: float, closest: float) -> list[str]:
    return [Message("depthing: centres {nominal:.3f} mm apart; they foul below {closest:.3f}",
                    nominal=nominal, closest=closest) if closest <= nominal else
            Message("depthing: centres {nominal:.3f} mm apart; they foul already, free from "
                    "{closest:.3f} on", nominal=nominal, closest=closest)]


def _action(actions: list[Action], driver: str) -> list[str]:
    # The driver's tips go into the other's roots first in each pair of gaps.
    at_pinion, at_wheel = (0, 1) if driver == "wheel" else (1, 0)
    off, before = (
        (Message("pinion off even motion, µm"), Message("wheel drives before centres, deg"))
        if driver == "wheel" else
        (Message("wheel off even motion, µm"), Message("pinion drives before centres, deg")))
    rows = [
        (Message("centres apart, mm"), [f"{one.centre_distance:.3f}" for one in actions]),
        (Message("turns freely"),
         [in_spoken(Message("yes") if one.free else Message("NO")) for one in actions]),
        (Message("overlap, µm"), [f"{one.interference:.1f}" for one in actions]),
        (Message("least play at pitch circle, µm"),
         [f"{one.backlash[0]:.1f}" for one in actions]),
        (Message("greatest play"), [f"{one.backlash[1]:.1f}" for one in actions]),
        (Message("gap at the pinion's root, mm"),
         [f"{one.clearance[at_pinion]:.3f}" for one in actions]),
        (Message("gap at the wheel's root, mm"),
         [f"{one.clearance[at_wheel]:.3f}" for one in actions]),
        (Message("largest error of the ratio, %"),
         [f"{one.ratio_error * 100:.1f}" for one in actions]),
        (off, [f"{one.lag_micrometres:.1f}" for one in actions]),
        (before, [f"{one.before:.2f}" for one in actions]),
        (Message("… and after"), [f"{one.after:.2f}" for one in actions]),
    ]
    labels = [in_spoken(label) for label, _ in rows]
    wide = max(32, *map(len, labels))
    return [f"{label:<{wide}}" + "".join(f"{value:>9}" for value in values)
            for label, (_, values) in zip(labels, rows, strict=True)]
