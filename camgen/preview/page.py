"""A page to step through a job's programs at the bench: one HTML file, needing only a browser.

Drawing, program text and readings follow one slider of time, setup by setup. All data is inside the
file; its policy forbids the browser to fetch anything.
"""

from __future__ import annotations

import html
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from camgen.preview.paper.palette import DARK, LIGHT, Palette, shade
from camgen.preview.scene import Scene, scene_data
from camgen.shop.machine import Machine
from camgen.values import dataclass
from camgen.words import words

__all__ = ["Verdict", "bench_page"]

_SHADES = 6


@dataclass(frozen=True)
class Verdict:
    """How many proofs hold, what is said of each that does not, and what is to be minded."""

    hold: int
    failed: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def bench_page(
    scenes: Sequence[Scene], machine: Machine, title: str, *, verdict: Verdict | None = None,
    language: str = "en",
) -> str:
    """The page of one or more setups one after another."""
    catalogue = words(language)

    def say(key: str, **fields: object) -> str:
        return catalogue("page", key, **fields)

    setups = [scene_data(scene, machine, catalogue) for scene in scenes]
    work = {
        "setups": setups,
        "colours": {"light": _colours(LIGHT), "dark": _colours(DARK)},
        "words": {key: say(key) for key in _SCRIPT},
        "shades": {name: [shade(colours, step / _SHADES) for step in range(1, _SHADES + 1)]
                   for name, colours in (("light", LIGHT), ("dark", DARK))},
    }
    says = say("says", title=title, count=sum(one["count"] for one in setups),
               minutes=f"{sum(one['seconds'] for one in setups) / 60:.1f}",
               programs=", ".join(program.name for scene in scenes for program in scene.programs))
    return _document(language, title, says, work, verdict, say)


def _colours(colours: Palette) -> dict[str, str]:
    return {name: value for name, value in asdict(colours).items() if isinstance(value, str)}


# Keys and what they do; those that are no keys' own signs are words of the catalogue.
_KEYS = (
    ("key-space", "does-play"), (". ,", "does-step"), ("Home End", "does-ends"),
    ("+ - 0", "does-zoom"), ("key-arrows", "does-arrows"), ("L R G", "does-looks"),
    ("key-hands", "does-hands"), ("key-click", "does-click"),
)
_BUTTONS = ("fit", "loupe", "rapids", "dark", "keys", "play", "close", "one-back", "one-on", "pace",
            "program-text", "time-in-program", "setups", "places", "mind", "go-on")
# What the script says itself.
_SCRIPT = ("rapid", "index", "anticlockwise", "spindle-off", "clear", "going-down", "of", "at-line",
           "play", "stop", "waits", "from-above", "from-side", "too-old", "then")


# In this order they make one script.
_SCRIPTS = ("motion.js", "drawing.js", "showing.js", "hands.js")


def _document(language: str, title: str, says: str, work: Mapping[str, Any],
              verdict: Verdict | None, say: Callable[..., str]) -> str:
    folder = Path(__file__).resolve().parent / "bench_page"
    style = (folder / "page.css").read_text(encoding="utf-8")
    script = "".join((folder / name).read_text(encoding="utf-8") for name in _SCRIPTS)
    # "<" is written as an escape, so that no text of a program can end the script element.
    data = json.dumps(work, separators=(",", ":"), ensure_ascii=False).replace("<", "\\u003c")
    safe = html.escape
    setups = work["setups"]
    readings = (
        ("t", say("time")), ("x", "X"), ("y", "Y"), ("z", "Z"), ("a", say("head")),
        ("d", say("depth")), ("f", "mm/min"), ("s", say("speed")), ("c", say("cutter")),
        ("e", say("engaged")),
    )
    cells = "".join(f'<div><dt>{safe(name)}</dt><dd id="{key}"></dd></div>'
                    for key, name in readings)
    keys = "".join(f"<dt>{safe(say(key))}</dt><dd>{safe(say(does))}</dd>" for key, does in _KEYS)
    paces = "".join(f'<option value="{pace}"{" selected" if pace == 10 else ""}>{pace}×</option>'
                    for pace in (1, 3, 10, 30, 100, 300))
    texts = {key: safe(say(key)) for key in _BUTTONS}
    parts = "".join(f'<button data-setup="{number}" aria-pressed="{str(not number).lower()}">'
                    f"{number + 1}. {safe(one['name'])}</button>"
                    for number, one in enumerate(setups)) if len(setups) > 1 else ""
    told, minding = _verdict(verdict, say)
    return f"""<!DOCTYPE html>
<html lang="{language}" data-ground="light"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; \
style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{safe(title)}</title><style>{style}</style></head>
<body>
<header><h1>{safe(title)}</h1><p id="beneath">{safe(setups[0]["subtitle"])}</p>{told}
<div class="keys push"><button id="fit">{texts["fit"]}</button>
<button id="loupe" aria-pressed="true">{texts["loupe"]}</button>
<button id="rapids" aria-pressed="true">{texts["rapids"]}</button>
<button id="dark" aria-pressed="false">{texts["dark"]}</button>
<button id="help">{texts["keys"]}</button></div></header>
<main id="field" tabindex="0" role="img" aria-label="{safe(says)}">
<canvas id="ground"></canvas><canvas id="done"></canvas><canvas id="ways"></canvas>\
<canvas id="tool"></canvas>
<img id="paper" alt="">
<p class="corner" id="where"></p>
<div id="then" hidden><p></p><button id="go-on">{texts["go-on"]}</button></div></main>
<aside>
<nav id="setups" class="keys" aria-label="{texts["setups"]}">{parts}</nav>
<div id="near"><canvas id="lens"></canvas>
<ol id="places" tabindex="0" aria-label="{texts["places"]}"></ol></div>
<section id="text" tabindex="0" aria-label="{texts["program-text"]}">
<div class="roll"></div></section></aside>
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
{minding}<script type="application/json" id="work">{data}</script>
<script>"use strict";
(async () => {{
{script}}})();</script>
</body></html>
"""


def _verdict(verdict: Verdict | None, say: Callable[..., str]) -> tuple[str, str]:
    """What the head of the page says of the proofs, and what is opened from there."""
    if verdict is None:
        return "", ""
    safe = html.escape
    count = len(verdict.failed)
    told = (say("proofs-fail", count=count) if count else say("proofs-hold", count=verdict.hold))
    failed = "".join(f"<li>{safe(one)}</li>" for one in verdict.failed)
    minded = "".join(f"<li>{safe(one)}</li>" for one in verdict.cautions)
    listed = "".join(f"<ul>{entries}</ul>" for entries in (failed, minded) if entries)
    return (
        f'<p id="verdict"{" class=fails" if count else ""}><strong>{safe(told)}</strong></p>\n'
        f'<button id="mind">{safe(say("mind"))}</button>',
        f'<dialog id="minding" aria-label="{safe(say("mind"))}">'
        f"<p><strong>{safe(told)}</strong></p>{listed}\n"
        f'<button id="minded">{safe(say("close"))}</button></dialog>\n')
