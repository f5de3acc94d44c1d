"""What the page shows of one setup: its motion, what stands about it, where its steps begin."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.job.on_arbor import FAR, Turned
from camgen.layout import FlatLayout, RoundLayout, ToothLayout
from camgen.preview.carried import PLACES_A_MM, TIMES_A_SECOND, Carried, Column, carried
from camgen.preview.course.removal import remove
from camgen.preview.course.spaces_coming import spaces_coming
from camgen.preview.course.tooth_course import tooth_work
from camgen.preview.course.track import Track, traced, with_waits
from camgen.preview.flat.least_room import part_lines
from camgen.preview.head.cut_teeth import axes_of
from camgen.proof.path import joined
from camgen.reader.dialect import template_in_languages
from camgen.reader.motion import ReadProgram
from camgen.reader.waits import Wait, events_in_order, halts, waits
from camgen.shop.cutters import Cutter, record_of
from camgen.shop.machine import Machine
from camgen.tolerances import CHECK_CHORD
from camgen.values import dataclass
from camgen.words import Words

__all__ = ["Scene", "scene_data"]

# Engagement takes a quarter of a millisecond a stretch; longer programs go without.
_MOST_ENGAGED = 40_000
# More places than these to jump to are no list.
_MOST_PLACES = 200
# A cutter changed within so many lines of a step's beginning is that step's.
_NEAR = 6
# How an engagement that nobody reckoned is carried, and one straight down.
_NOT_ENGAGED, _GOING_DOWN = 255, 181


@dataclass(frozen=True)
class Scene:
    """Programs of one setup; ``layout`` None where only their text is known.

    ``first`` is what is done before the setup begins, such as turning the piece over.
    """

    name: str
    layout: FlatLayout | ToothLayout | RoundLayout | None
    programs: Sequence[ReadProgram]
    cutters: Mapping[int, Cutter]
    names: Mapping[int, str]
    subtitle: str = ""
    first: str = ""


def scene_data(scene: Scene, machine: Machine, say: Words) -> dict[str, Any]:
    """The data of one setup for the page's script, and ``minutes`` and ``count`` of its motion."""
    events = events_in_order(scene.programs)
    track = traced(joined(tuple(program.motion for program in scene.programs)), machine,
                   CHECK_CHORD, halts(events))
    whole, which = with_waits(track, waits(events, machine))
    short, engaged = len(track) <= _MOST_ENGAGED, None
    match scene.layout:
        case FlatLayout() as layout:
            setting = _flat_setting(layout)
            engaged = remove(layout, track, scene.cutters).engaged if short else None
        case ToothLayout() as layout:
            setting = _tooth_setting(layout, track, scene.cutters, np.flatnonzero(which >= 0))
            engaged = tooth_work(layout, track, scene.cutters).engaged if short else None
        case RoundLayout() as layout:
            setting = _round_setting(layout, track)
        case None:
            setting = _bare_setting(track)
    starts = np.cumsum([0, *(len(program.lines or ("",)) for program in scene.programs)])
    return {
        "name": scene.name, "subtitle": scene.subtitle, "first": scene.first,
        "count": len(track), "seconds": round(whole.seconds, 3),
        **_motion(scene.programs, whole,
                  None if engaged is None else np.where(which < 0, 0.0, engaged[which]),
                  np.flatnonzero(which < 0), _in_text(scene.programs, machine)),
        **setting,
        # Of several programs each counts its own lines from 1.
        "begins": starts[:-1].tolist(),
        "places": _places(scene, say),
        "cutters": {number: {"name": scene.names.get(number)
                             or say("pictures", "cutter", number=number),
                             "diameter": cutter.diameter, **_point(cutter)}
                    for number, cutter in scene.cutters.items()},
        "rotary": bool(np.any(track.angle != 0)),
        "engagement": engaged is not None,
    }


def _point(cutter: Cutter) -> dict[str, float]:
    """Width of a pointed cutter's end and by how much it is wider a millimetre up, mm."""
    if not record_of(cutter).conical:
        return {}
    return {"tip": cutter.tip, "spread": 2 * math.tan(math.radians(cutter.cone_angle / 2))}


def _places(scene: Scene, say: Words) -> list[list[Any]]:
    """Where one may want to go: [line of the text from 0, what begins there], in order.

    Steps are found by the programs' own comments, cutters by their changes.
    """
    begun = "|".join(re.escape(one.split("{")[0].strip())
                     for one in template_in_languages("STEP {number} {title}"))
    step = re.compile(rf"(?:{begun}) \d+ .*", re.IGNORECASE)
    found: list[list[Any]] = []
    before = 0
    for program in scene.programs:
        for event in program.events:
            line = before + event.line - 1
            if event.kind == "comment" and step.fullmatch(event.text.strip()):
                found.append([line, event.text.strip().capitalize()])
            elif event.kind == "cutter-change":
                number = int(event.value)
                name = scene.names.get(number) or say("pictures", "cutter", number=number)
                changed = say("page", "changed", name=name)
                if found and line - found[-1][0] <= _NEAR:
                    found[-1][1] += f", {changed}"
                else:
                    found.append([line, changed])
        before += len(program.lines or ("",))
    return found[:_MOST_PLACES]


def _in_text(programs: Sequence[ReadProgram], machine: Machine) -> list[tuple[int, Wait]]:
    """Waits in order, each with the place of its block, from 0, in the text of all programs."""
    found: list[tuple[int, Wait]] = []
    begun = 0
    for program in programs:
        events = ((event.before, event) for event in program.events)
        found += [(begun + wait.line - 1, wait) for wait in waits(events, machine)]
        begun += len(program.lines or ("",))
    return found


def _motion(
    programs: Sequence[ReadProgram], track: Track, engaged: Floats | None, still: Ints,
    waited: Sequence[tuple[int, Wait]],
) -> Carried:
    """The stretches with what is read out of them, and the programs' text.

    ``still`` (w,) are the stretches that are waits, ``waited`` what each waits for, with its place
    in that text. A stretch begins where the one before ended; where not, ``jump`` says which and
    ``jump_x`` and so on from where.
    """
    motion = joined(tuple(program.motion for program in programs))
    lines: list[str] = []
    at = np.zeros(len(motion), dtype=np.int64)
    done = 0
    for program in programs:
        pieces = len(program.motion)
        # A line's place in the text shown: its number less one, after the programs before it.
        at[done:done + pieces] = np.maximum(program.motion.line - 1, 0) + len(lines)
        done += pieces
        lines += program.lines or ("",)
    piece = track.piece
    line, speed = at[piece], motion.speed[piece]
    # A wait is shown at its own block; a cutter is changed with the spindle still.
    for row, (block, wait) in zip(still, waited, strict=False):
        line[row] = block
        if wait.kind == "cutter-change":
            speed[row] = 0.0
    stands = np.all(track.start == track.end, axis=1)
    kind = np.where(track.rapid, 0, np.where(track.turning, 2, np.where(stands, 3, 1)))
    ends = np.rint(track.end * PLACES_A_MM).astype(np.int64)
    starts = np.rint(track.start * PLACES_A_MM).astype(np.int64)
    jump = np.flatnonzero(np.any(starts[1:] != ends[:-1], axis=1)) + 1
    if len(starts):
        jump = np.concatenate(([0], jump))
    bent = (np.full(len(track), _NOT_ENGAGED) if engaged is None
            else np.where(engaged > 180, _GOING_DOWN, np.rint(engaged)))
    return carried({
        **{axis: Column(ends[:, n], "i4", steps=True) for n, axis in enumerate("xyz")},
        **{f"jump_{axis}": Column(starts[jump, n], "i4") for n, axis in enumerate("xyz")},
        "jump": Column(jump, "u4", steps=True),
        "until": Column(np.rint(track.until * TIMES_A_SECOND), "u4", steps=True),
        "angle": Column(track.angle, "f4"),
        "feed": Column(np.nan_to_num(motion.feed[piece]), "f4"),
        "speed": Column(speed, "f4"),
        "line": Column(np.minimum(line, len(lines) - 1), "i4", steps=True),
        "engaged": Column(bent, "u1"),
        "kind": Column(kind, "u1"),
        "cutter": Column(np.clip(track.cutter, 0, 255), "u1"),
    }, lines)


# How the motion is looked at, and what stands about it: ``view`` makes the two coordinates of the
# drawing and a height of X, Y, Z and 1. This one is a plan view.
_PLAN = [[1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0]]


def _bare_setting(track: Track) -> dict[str, Any]:
    """Of motion alone, seen from above."""
    cutting = track.cutting
    low = float(track.end[cutting, 2].min()) if cutting.any() else -1.0
    return {"view": _PLAN, "shapes": [], "bounds": _bounds(track, _PLAN), "top": 0.0,
            "bottom": min(low, -1e-3), "zero": [0.0, 0.0], "swath": True, "wheel": None}


def _flat_setting(layout: FlatLayout) -> dict[str, Any]:
    """From above: stock, part and what holds it."""
    edges = part_lines(layout.part)
    shapes = [_shape("stock", np.asarray(layout.stock.exterior.coords)),
              *({**_shape("edge", path.moved(*place).points(0.002)), "open": not path.closed}
                for place in layout.places for path in edges),
              *(_shape("holding", np.asarray(clamp.plan.exterior.coords))
                for clamp in layout.clamps)]
    return {"view": _PLAN, "shapes": shapes, "bounds": list(layout.stock.bounds),
            "top": layout.top, "bottom": layout.bottom, "zero": [0.0, 0.0], "swath": True,
            "wheel": None}


def _tooth_setting(
    layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter], shown_as: Ints
) -> dict[str, Any]:
    """From the side: along the arbor to the right, away from its axis upwards.

    ``shown_as`` (m,) is which of the stretches shown each of the track's is.
    """
    (along, along_sign), (infeed, infeed_sign) = axes_of(layout)
    tip = layout.tooth.tip_radius
    disc = next((cutters[number].diameter / 2 for number in track.cutter.tolist()
                 if number in cutters), 0.0)
    # Depth is infeed; or with the zero on the axis, infeed and both radii.
    shift = tip + disc if layout.zero == "axis" else 0.0
    across = [0.0, 0.0, 0.0, 0.0]
    across[along] = along_sign
    up = [0.0, 0.0, 0.0, tip - shift]
    up[infeed] = -infeed_sign
    height = [0.0, 0.0, 0.0, -shift]
    height[infeed] = -infeed_sign
    back = layout.backing_to + max(2 * layout.arbor_radius, 4.0)
    front = min((body.begin for body in layout.before if body.end - body.begin < FAR),
                default=0.0) - 4.0

    def block(kind: str, body: Turned) -> dict[str, Any]:
        ends = [(min(max(x, front), back), y) for x, y in body.profile]
        return _shape(kind, np.array(ends))

    held = {body.name for body in (*layout.before, *layout.after)}
    shapes = [block("holding", body) for body in layout.bodies if body.name in held]
    shapes += [block("edge", body) for body in layout.bodies if body.name.endswith("backing")]
    shapes += [block("stock", body) for body in layout.bodies if body.name == "blanks"]
    view = [across, up, height]
    cut = track.only(track.cutting)
    box = _bounds(cut if len(cut) else track, view)
    bounds = [min(box[0], 0.0) - 1, -0.4 * tip, max(box[2], layout.backing_to) + 2,
              tip + min(disc, 8.0)]
    zero_up = tip - shift
    spaces, shapes_left = spaces_coming(layout, track, cutters)
    return {"view": view, "shapes": shapes, "bounds": bounds, "top": 0.0,
            "bottom": -layout.tooth.sizes.whole_depth, "zero": [0.0, zero_up], "swath": False,
            "wheel": {"radius": layout.blank_radius, "arbor": layout.arbor_radius,
                      "spaces": [[int(shown_as[row]), angle, shape]
                                 for row, angle, shape in spaces],
                      "shapes": shapes_left}}


def _round_setting(layout: RoundLayout, track: Track) -> dict[str, Any]:
    """From the side: along the work to the right, out from its axis upwards."""
    arrangement = layout.arrangement
    into = -1.0 if arrangement.infeed[0] == "-" else 1.0
    from_zero = layout.thickest if layout.zero == "touch" else 0.0
    across, up = [0.0] * 4, [0.0, 0.0, 0.0, from_zero]
    across["XYZ".index(arrangement.along[1])] = -1.0 if arrangement.along[0] == "-" else 1.0
    up["XYZ".index(arrangement.infeed[1])] = -into
    height = [*up[:3], from_zero - layout.thickest]
    back, front = layout.stands_out + 6 * layout.thickest, -4 * layout.thickest

    def block(kind: str, body: Turned) -> dict[str, Any]:
        return _shape(kind, np.array([(min(max(x, front), back), y) for x, y in body.profile]))

    shapes = [block("holding", body) for body in (*layout.before, *layout.behind)]
    shapes += [block("stock", body) for body in layout.work]
    view = [across, up, height]
    cut = track.only(track.cutting)
    box = _bounds(cut if len(cut) else track, view)
    bounds = [min(box[0], 0.0) - 1, -1.5 * layout.thickest, max(box[2], layout.stands_out) + 2,
              2.5 * layout.thickest + layout.clearance]
    return {"view": view, "shapes": shapes, "bounds": bounds, "top": 0.0,
            "bottom": -layout.thickest, "zero": [0.0, from_zero], "swath": False, "wheel": None}


def _shape(kind: str, points: Floats) -> dict[str, Any]:
    return {"kind": kind, "points": np.round(points, 4).tolist()}


def _bounds(track: Track, view: list[list[float]]) -> list[float]:
    """Bounds of the motion as looked at: from and to in both coordinates of the drawing."""
    if not len(track):
        return [-1.0, -1.0, 1.0, 1.0]
    points = np.vstack((track.start, track.end)) @ np.array(view[:2])[:, :3].T
    points += np.array(view[:2])[:, 3]
    return [*points.min(axis=0).tolist(), *points.max(axis=0).tolist()]
