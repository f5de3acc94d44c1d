"""``camgen divide``: angles or hole-plate settings for equal divisions."""

from __future__ import annotations

import json
from pathlib import Path

import click

from camgen.commands.terminal.figures import ABOVE_ZERO, TrueNumber
from camgen.commands.terminal.screen import in_spoken, tell, wrong_use
from camgen.dividing import (
    Division,
    angle_settings,
    circles_for,
    compound_settings,
    divide_at,
    divide_by_hand,
    divide_by_pulses,
    divide_driven,
)
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.machine import DrivenHead, HandHead
from camgen.shop.machines import find_machine

__all__ = ["divide"]

USUAL_MACHINE = "plain-iso"
MOST_HOLES = 1000
SHOWN_SPACES = 12


@click.command()
@click.argument("count", metavar="N", type=int, required=False)
@click.option("--post", metavar="NAME", help="The machine file whose dividing head is meant.")
@click.option("--ratio", type=ABOVE_ZERO, metavar="R",
              help="Turns of crank or worm for one turn of the work.")
@click.option("--plates", metavar='"15 16 17, 21 23"',
              help="Hole circles of a head turned by hand; a comma begins the next plate.")
@click.option("--pitch-diameter", type=ABOVE_ZERO, metavar="MM",
              help="Also give errors in micrometres on this diameter.")
@click.option("--degrees", type=TrueNumber(min=0, max=360, min_open=True), metavar="D",
              help="Instead of N: settings nearest to one turn of the work by D degrees.")
@click.option("--at", "angles", metavar='"0 90 130"',
              help="Instead of N: places at these angles of the work, degrees.")
@click.option("--nearest", "nearest_hole", is_flag=True,
              help="By hand, where N cannot be had: the nearest hole for each space.")
@click.option("--all", "whole", is_flag=True, help="Every space, not only the first few.")
@click.option("--json", "as_json", is_flag=True, help="The answer, for a program to read.")
def divide(
    count: int | None, post: str | None, ratio: float | None, plates: str | None,
    pitch_diameter: float | None, degrees: float | None, angles: str | None, nearest_hole: bool,
    whole: bool, as_json: bool,
) -> None:
    """Dividing-head settings and angles for N equal divisions, 2 to 1000.

    With --plates for a head turned by hand over hole plates, else for the head of the machine
    file (plain-iso where none is named).

    Example: camgen divide 75 --pitch-diameter 10.5

    Places that are not equal: camgen divide --at "0 90 130"

    By hand: camgen divide 42 --ratio 40 --plates "24 25 28 30 34 37 38 39 41 42 43"
    """
    head = _head(post, ratio, plates)
    if degrees is not None:
        _one_turn(degrees, head, as_json)
        return
    if angles is not None:
        _at(_angles(angles), head, as_json)
        return
    if count is None:
        raise wrong_use(Message('say how many divisions, as in "camgen divide 75"'))
    if isinstance(head, DrivenHead) and head.pulses is not None:
        division = divide_by_pulses(count, head.pulses, head_arcsec=head.pitch_error)
    elif isinstance(head, DrivenHead):
        division = divide_driven(count, head.increment, head.worm_ratio, head.motor_steps,
                                 head_arcsec=head.pitch_error)
    else:
        division = divide_by_hand(count, head.worm_ratio, head.plates, nearest_hole=nearest_hole)
    if as_json:
        click.echo(json.dumps(_for_a_program(division, pitch_diameter), indent=2))
        return
    for line in _words(division, head, pitch_diameter, whole):
        tell(line)


def _head(post: str | None, ratio: float | None, plates: str | None) -> DrivenHead | HandHead:
    """The head that is meant: hole plates given here, else that of the machine file."""
    if plates is not None:
        return HandHead(worm_ratio=ratio or 40.0, plates=_circles(plates))
    head = find_machine(post or USUAL_MACHINE, Path.cwd()).dividing
    if head is None:
        raise Refused(Fault(
            Message("the machine file {name} has no dividing head", name=post),
            Message("name another with --post, or hole circles with --plates")))
    return head if ratio is None else head.model_copy(update={"worm_ratio": ratio})


def _circles(text: str) -> tuple[tuple[int, ...], ...]:
    try:
        plates = [[int(word) for word in plate.split()] for plate in text.split(",")]
    except ValueError:
        plates = []
    plates = [plate for plate in plates if plate]
    if not plates or not all(2 <= circle <= MOST_HOLES for plate in plates for circle in plate):
        raise click.BadParameter(
            in_spoken(Message('numbers of holes are wanted, as in "15 16 17 18, 21 23 27"')),
            param_hint="--plates")
    return tuple(map(tuple, plates))


def _one_turn(degrees: float, head: DrivenHead | HandHead, as_json: bool) -> None:
    if isinstance(head, DrivenHead):
        raise wrong_use(Message("--degrees is for a head turned by hand: give --plates too"))
    found = angle_settings(degrees, head.worm_ratio, head.plates)
    if as_json:
        click.echo(json.dumps({"degrees": degrees, "settings": [
            {"plate": one.plate, "circle": one.circle, "turns": one.turns, "holes": one.holes,
             "error_arcsec": one.error} for one in found]}, indent=2))
        return
    tell(Message("turning the work by {degrees:g} degrees at {ratio:g}:1, nearest first:",
                 degrees=degrees, ratio=head.worm_ratio))
    for one in found:
        off = (Message("exact") if one.error == 0
               else Message("{error:+.1f} arc-seconds off", error=one.error))
        tell(Message("plate {plate}: {setting}, {off}", plate=one.plate, setting=one.told(),
                     off=off), before="  ")


def _angles(text: str) -> tuple[float, ...]:
    """Angles in degrees as they are typed, rising."""
    try:
        found = {float(word) for word in text.replace(",", " ").split()}
    except ValueError:
        found = set()
    if not found or not all(0 <= one < 360 for one in found):
        raise click.BadParameter(
            in_spoken(Message('angles from 0 to less than 360 are wanted, as in "0 90 130"')),
            param_hint="--at")
    return tuple(sorted(found))


def _at(angles: tuple[float, ...], head: DrivenHead | HandHead, as_json: bool) -> None:
    """Where a head stands for each of several angles, which need not be equal."""
    division = divide_at(angles, head)
    circles = circles_for(angles, head) if isinstance(head, HandHead) else ()
    if as_json:
        click.echo(json.dumps({
            "angles": division.angles, "errors_arcsec": division.errors,
            "settings": division.settings, "circles": circles}, indent=2))
        return
    if circles:
        tell(Message("head turned by hand, {ratio:g}:1; circles with a hole at every one of these "
                     "places: {circles}", ratio=head.worm_ratio, circles=circles))
    for number, (angle, error) in enumerate(zip(division.angles, division.errors, strict=True)):
        tell(Message("{angle:g} degrees: {setting}", angle=angle,
                     setting=division.settings[number]) if division.settings else
             Message("{angle:g} degrees: {error:+.2f} arc-seconds off", angle=angle, error=error),
             before="  ")


def _words(
    division: Division, head: DrivenHead | HandHead, diameter: float | None, whole: bool
) -> list[str]:
    lines: list[str] = [Message("{count} divisions of {angle:.6g} degrees", count=division.count,
                                angle=360 / division.count)]
    if isinstance(head, DrivenHead) and head.pulses is not None:
        lines.append(Message("head turned by pulses, {pulses} to a turn: {each} for each space",
                             pulses=head.pulses, each=head.pulses // division.count))
    elif isinstance(head, DrivenHead):
        lines.append(Message(
            "driven head {ratio:g}:1, {steps} steps a turn of the worm, word rounded to "
            "{increment:g} degrees", ratio=head.worm_ratio, steps=head.motor_steps,
            increment=head.increment))
    else:
        lines += _by_hand(division, head)
    errors = [
        (Message("worst single pitch"), division.worst_single_arcsec),
        (Message("closing pitch, last space to first"), division.closing_arcsec),
        (Message("worst place, from the first space"), division.worst_place_arcsec),
    ]
    if division.head_arcsec:
        errors.append((Message("with the head’s own error, at most"), division.bound_arcsec))
    labels = [in_spoken(label) for label, _ in errors]
    wide = max(34, *map(len, labels))
    lines += ["", *(f"{label:<{wide}} {in_spoken(_error(arcsec, division, diameter))}"
                    for label, (_, arcsec) in zip(labels, errors, strict=True))]
    shown = division.count if whole else min(division.count, SHOWN_SPACES)
    space_word, degrees = in_spoken(Message("space")), in_spoken(Message("degrees"))
    what = in_spoken(Message("setting") if division.settings else Message("off, arc-seconds"))
    lines += ["", f"{space_word:<5}  {degrees:>8}  {what}"]
    for space in range(shown):
        right = (in_spoken(division.settings[space]) if division.settings
                 else f"{division.errors[space]:+.2f}")
        lines.append(f"{space + 1:{max(5, len(space_word))}}  {division.angles[space]:8.3f}  "
                     f"{right}")
    if shown < division.count:
        lines.append(Message("  …  and so on to space {count}; --all gives every one",
                             count=division.count))
    lines += ["", Message("Every position is counted from the first. Come to each from the same "
                          "side.")]
    return lines


def _by_hand(division: Division, head: HandHead) -> list[str]:
    """The settings of crank and plate."""
    lines: list[str] = [Message("head turned by hand, {ratio:g}:1", ratio=head.worm_ratio)]
    if division.choices:
        lines.append(Message("each space, any one of:"))
        lines += [Message("  plate {plate}: {setting}", plate=one.plate, setting=one.told())
                  for one in division.choices]
        best = division.choices[0]
        if best.holes:
            lines.append(Message(
                "On the {circle} circle the sector arms take in {holes} holes, the one the pin is "
                "in among them.", circle=best.circle, holes=best.holes + 1))
            lines.append(Message("one whole turn = {circle} holes on that circle",
                                 circle=best.circle))
        return lines
    lines.append(Message("no exact setting: the nearest hole for each space, the pitches differ"))
    compounds = compound_settings(division.count, head.worm_ratio, head.plates, keep=1)
    if compounds:
        lines.append(Message("exact by two moves: plate {plate}: {moves}",
                             plate=compounds[0].plate, moves=compounds[0].told()))
    return lines


def _error(arcsec: float, division: Division, diameter: float | None) -> Message:
    if diameter is None:
        return Message("{error:8.2f} arc-seconds", error=arcsec)
    return Message("{error:8.2f} arc-seconds = {off:.2f} µm on Ø{diameter:g} mm", error=arcsec,
                   off=division.micrometres(arcsec, diameter / 2), diameter=diameter)


def _for_a_program(division: Division, diameter: float | None) -> dict[str, object]:
    answer: dict[str, object] = {
        "count": division.count,
        "angles": division.angles,
        "errors_arcsec": division.errors,
        "worst_single_arcsec": division.worst_single_arcsec,
        "closing_arcsec": division.closing_arcsec,
        "worst_place_arcsec": division.worst_place_arcsec,
        "head_arcsec": division.head_arcsec,
        "settings": division.settings,
        "choices": [
            {"plate": one.plate, "circle": one.circle, "turns": one.turns, "holes": one.holes}
            for one in division.choices
        ],
    }
    if diameter is not None:
        answer["worst_single_um"] = division.micrometres(division.worst_single_arcsec, diameter / 2)
        answer["closing_um"] = division.micrometres(division.closing_arcsec, diameter / 2)
    return answer
