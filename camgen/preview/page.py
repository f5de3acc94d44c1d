"""A page to step through a program at the bench: one HTML file that needs nothing but a browser.

Drawing, program text and readings follow one slider of time. All data is inside the file; its
policy forbids the browser to fetch anything.
"""

from __future__ import annotations

import base64
import html
import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.job.on_arbor import FAR, Turned
from camgen.layout import FlatLayout, ToothLayout
from camgen.preview.course.removal import remove
from camgen.preview.course.tooth_course import tooth_work
from camgen.preview.course.track import Track, traced, with_waits
from camgen.preview.flat.least_room import part_lines
from camgen.preview.head.cut_teeth import axes_of
from camgen.preview.paper.palette import DARK, LIGHT, Palette, shade
from camgen.proof.path import joined
from camgen.reader.motion import ReadProgram
from camgen.reader.waits import Wait, events_in_order, halts, waits
from camgen.shop.cutters import Cutter, record_of
from camgen.shop.machine import Machine
from camgen.tolerances import CHECK_CHORD
from camgen.words import words

__all__ = ["bench_page"]

_SHADES = 6
# Engagement takes a quarter of a millisecond a stretch; longer programs go without.
_MOST_ENGAGED = 40_000


def bench_page(
    layout: FlatLayout | ToothLayout | None,
    programs: Sequence[ReadProgram],
    machine: Machine,
    cutters: Mapping[int, Cutter],
    title: str,
    *,
    subtitle: str = "",
    names: Mapping[int, str] | None = None,
    language: str = "en",
) -> str:
    """The page of one setup's programs, or with no ``layout`` of any programs."""
    catalogue = words(language)

    def say(key: str, **fields: object) -> str:
        return catalogue("page", key, **fields)

    events = events_in_order(programs)
    track = traced(joined(tuple(program.motion for program in programs)), machine, CHECK_CHORD,
                   halts(events))
    short, engaged = len(track) <= _MOST_ENGAGED, None
    match layout:
        case FlatLayout():
            setting = _flat_setting(layout)
            engaged = remove(layout, track, cutters).engaged if short else None
        case ToothLayout():
            setting = _tooth_setting(layout, track, cutters)
            engaged = tooth_work(layout, track, cutters).engaged if short else None
        case None:
            setting = _bare_setting(track)
    whole, which = with_waits(track, waits(events, machine))
    work = {
        **_motion(programs, whole, None if engaged is None else np.where(
            which < 0, 0.0, engaged[which]), np.flatnonzero(which < 0),
                  _in_text(programs, machine)),
        **setting,
        "cutters": {number: {"name": (names or {}).get(number)
                             or catalogue("pictures", "cutter", number=number),
                             "diameter": cutter.diameter, **_point(cutter)}
                    for number, cutter in cutters.items()},
        "rotary": bool(np.any(track.angle != 0)),
        "engagement": engaged is not None,
        "colours": {"light": _colours(LIGHT), "dark": _colours(DARK)},
        "words": {key: say(key) for key in _SCRIPT},
        "shades": {name: [shade(colours, step / _SHADES) for step in range(1, _SHADES + 1)]
                   for name, colours in (("light", LIGHT), ("dark", DARK))},
    }
    says = say("says", title=title, count=len(track), minutes=f"{whole.seconds / 60:.1f}",
               programs=", ".join(program.name for program in programs))
    return _document(language, title, subtitle, says, work, say)


def _point(cutter: Cutter) -> dict[str, float]:
    """Width of a pointed cutter's end and by how much it is wider a millimetre up, mm."""
    if not record_of(cutter).conical:
        return {}
    return {"tip": cutter.tip, "spread": 2 * math.tan(math.radians(cutter.cone_angle / 2))}


def _colours(colours: Palette) -> dict[str, str]:
    return {name: value for name, value in asdict(colours).items() if isinstance(value, str)}


def _packed(values: Any, kind: str) -> str:
    """An array as the bytes a browser's typed array takes, in base 64."""
    return base64.b64encode(np.ascontiguousarray(values).astype(kind).tobytes()).decode("ascii")


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
) -> dict[str, Any]:
    """The stretches with what is read out of them, and the programs' text.

    ``still`` (w,) are the stretches that are waits, ``waited`` what each waits for, with its place
    in that text.
    """
    motion = joined(tuple(program.motion for program in programs))
    lines: list[str] = []
    numbers: list[int] = []
    at = np.zeros(len(motion), dtype=np.int64)
    done = 0
    for program in programs:
        pieces = len(program.motion)
        # A line's place in the text shown: its number less one, after the programs before it.
        at[done:done + pieces] = np.maximum(program.motion.line - 1, 0) + len(lines)
        done += pieces
        lines += program.lines or ("",)
        numbers += range(1, max(len(program.lines), 1) + 1)
    piece = track.piece
    line, speed = at[piece], motion.speed[piece]
    # A wait is shown at its own block; a cutter is changed with the spindle still.
    for row, (block, wait) in zip(still, waited, strict=False):
        line[row] = block
        if wait.kind == "cutter-change":
            speed[row] = 0.0
    stands = np.all(track.start == track.end, axis=1)
    kind = np.where(track.rapid, 0, np.where(track.turning, 2, np.where(stands, 3, 1)))
    return {
        "arrays": {
            "starts": _packed(track.start, "<f4"),
            "ends": _packed(track.end, "<f4"),
            "until": _packed(track.until, "<f4"),
            "angle": _packed(track.angle, "<f4"),
            "feed": _packed(np.nan_to_num(motion.feed[piece]), "<f4"),
            "speed": _packed(speed, "<f4"),
            "engaged": _packed(np.full(len(track), -1.0) if engaged is None else engaged, "<f4"),
            "line": _packed(np.minimum(line, len(lines) - 1), "<u4"),
            "kind": _packed(kind, "u1"),
            "cutter": _packed(np.clip(track.cutter, 0, 255), "u1"),
        },
        "lines": lines,
        "numbers": numbers,
    }


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
    layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter]
) -> dict[str, Any]:
    """From the side: along the arbor to the right, away from its axis upwards."""
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
    return {"view": view, "shapes": shapes, "bounds": bounds, "top": 0.0,
            "bottom": -layout.tooth.sizes.whole_depth, "zero": [0.0, zero_up], "swath": False,
            "wheel": {"radius": layout.blank_radius, "root": layout.tooth.root_radius,
                      "points": np.round(layout.tooth.outline(0.01), 4).tolist()}}


def _shape(kind: str, points: Floats) -> dict[str, Any]:
    return {"kind": kind, "points": np.round(points, 4).tolist()}


def _bounds(track: Track, view: list[list[float]]) -> list[float]:
    """Bounds of the motion as looked at: from and to in both coordinates of the drawing."""
    if not len(track):
        return [-1.0, -1.0, 1.0, 1.0]
    points = np.vstack((track.start, track.end)) @ np.array(view[:2])[:, :3].T
    points += np.array(view[:2])[:, 3]
    return [*points.min(axis=0).tolist(), *points.max(axis=0).tolist()]


# Keys and what they do; those that are no keys' own signs are words of the catalogue.
_KEYS = (
    ("key-space", "does-play"), (". ,", "does-step"), ("Home End", "does-ends"),
    ("+ - 0", "does-zoom"), ("key-arrows", "does-arrows"), ("L G", "does-looks"),
    ("key-hands", "does-hands"), ("key-click", "does-click"),
)
_BUTTONS = ("fit", "loupe", "dark", "keys", "play", "close", "one-back", "one-on", "pace",
            "program-text", "time-in-program")
# What the script says itself.
_SCRIPT = ("rapid", "index", "anticlockwise", "spindle-off", "clear", "going-down", "of", "at-line",
           "play", "stop", "waits")


def _document(language: str, title: str, subtitle: str, says: str, work: Mapping[str, Any],
              say: Callable[..., str]) -> str:
    folder = Path(__file__).resolve().parent / "bench_page"
    style = (folder / "page.css").read_text(encoding="utf-8")
    script = (folder / "page.js").read_text(encoding="utf-8")
    # "<" is written as an escape, so that no text of a program can end the script element.
    data = json.dumps(work, separators=(",", ":"), ensure_ascii=False).replace("<", "\\u003c")
    safe = html.escape
    readings = (
        ("t", say("time")), ("x", "X"), ("y", "Y"), ("z", "Z"),
        *((("a", say("head")),) if work["rotary"] else ()),
        ("d", say("depth")), ("f", "mm/min"), ("s", say("speed")), ("c", say("cutter")),
        *((("e", say("engaged")),) if work["engagement"] else ()),
    )
    cells = "".join(f'<div><dt>{safe(name)}</dt><dd id="{key}"></dd></div>'
                    for key, name in readings)
    keys = "".join(f"<dt>{safe(say(key))}</dt><dd>{safe(say(does))}</dd>" for key, does in _KEYS)
    paces = "".join(f'<option value="{pace}"{" selected" if pace == 10 else ""}>{pace}×</option>'
                    for pace in (1, 3, 10, 30, 100, 300))
    where = say("from-side" if work["wheel"] else "from-above")
    texts = {key: safe(say(key)) for key in _BUTTONS}
    return f"""<!DOCTYPE html>
<html lang="{language}" data-ground="light"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; \
style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{safe(title)}</title><style>{style}</style></head>
<body>
<header><h1>{safe(title)}</h1><p>{safe(subtitle)}</p>
<div class="keys push"><button id="fit">{texts["fit"]}</button>
<button id="loupe" aria-pressed="true">{texts["loupe"]}</button>
<button id="dark" aria-pressed="false">{texts["dark"]}</button>
<button id="help">{texts["keys"]}</button></div></header>
<main id="field" tabindex="0" role="img" aria-label="{safe(says)}">
<canvas id="ground"></canvas><canvas id="done"></canvas><canvas id="tool"></canvas>
<img id="paper" alt="">
<p class="corner">{safe(where)}</p></main>
<section id="text" tabindex="0" aria-label="{texts["program-text"]}">
<div class="roll"></div></section>
<dl id="figures">{cells}</dl>
<footer><div class="keys"><button id="back" aria-label="{texts["one-back"]}">◂</button>
<button id="play" aria-pressed="false">{texts["play"]}</button>
<button id="on" aria-label="{texts["one-on"]}">▸</button>
<label><span class="unseen">{texts["pace"]}</span>
<select id="pace">{paces}</select></label></div>
<div id="strip"><canvas id="profile"></canvas>
<input id="when" type="range" min="0" max="100000" value="0"
aria-label="{texts["time-in-program"]}"></div>
</footer>
<dialog id="keys" aria-label="{texts["keys"]}"><dl>{keys}</dl>
<button id="close">{texts["close"]}</button></dialog>
<script type="application/json" id="work">{data}</script>
<script>{script}</script>
</body></html>
"""
