"""Machines of every sort, at random from a seed."""

from __future__ import annotations

import random
from typing import Any

from camgen.shop.machine import Machine

__all__ = ["random_machine", "without_limits"]


def without_limits(machine: Machine) -> Machine:
    """The machine with travels, speeds and rates that random moves cannot exceed."""
    wide = {"travel": 1000.0, "feed_limit": 5000.0}
    return machine.model_copy(update={
        "x": machine.x.model_copy(update=wide),
        "y": machine.y.model_copy(update=wide),
        "z": machine.z.model_copy(update=wide),
    })


def random_machine(seed: int) -> Machine:
    """A machine file drawn at random from everything a file may say."""
    rng = random.Random(seed)

    def pick(*values: Any) -> Any:
        return rng.choice(values)

    inch = rng.random() < 0.25
    style = pick("incremental", "incremental", "absolute", "radius", "none")
    # Without a point the whole number is in last places: no trailing zeros to speak of.
    head: dict[str, Any] | None = None
    kind = rng.random()
    comments = pick("parentheses", "parentheses", "semicolon", "none")
    stand = pick(("-X", "+Y", "Z"), ("+X", "-Y", "Z"), ("-Y", "+X", "Z"), ("-Z", "+Y", "X"),
                 ("-X", "-Z", "Y"))
    arrangement = {"along": stand[0], "infeed": stand[1], "across": stand[2]}
    if kind < 0.7:
        head = {"kind": "driven", "letter": pick("A", "B", "C"), "sense": pick("iso", "reversed"),
                "take-up": pick(0.0, 0.5, 2.0), "increment": pick(0.001, 0.01),
                "arrangement": arrangement}
    elif comments != "none":
        head = {"kind": "by-hand", "plates": [[15, 16, 17], [37, 39]],
                "arrangement": arrangement}
    shift = pick(None, "G52", "G92")
    pointless = rng.random() < 0.2
    safe = pick((), ("G40", "G80"), ("G40", "G49", "G80", "G94"))
    axis = {"increment": pick(0.001, 0.001, 0.0005, 0.005), "travel": 1000, "feed-limit": 5000}
    data: dict[str, Any] = {
        "name": "drawn", "describes": "drawn at random",
        "x": axis | {"sense": pick("iso", "iso", "reversed")},
        "y": axis | {"sense": pick("iso", "iso", "reversed")},
        "z": axis,
        "dividing": head,
        "spindle": {"lowest": 100, "highest": 30000, "senses": ["clockwise", "anticlockwise"],
                    "start-seconds": pick(0, 2.5)},
        "numbers": {
            "decimals": pick(4, 5) if inch else pick(3, 3, 4),
            "rotary-decimals": pick(3, 4), "feed-decimals": pick(1, 2),
            "point": "never" if pointless else pick("always", "needed"),
            "trailing-zeros": pick(True, False), "leading-zero": pick(True, False),
            "plus": pick(True, False),
        },
        "blocks": {
            "spaces": pick(True, False), "two-figures": pick(True, False),
            "repeat-modal": pick(True, False), "repeat-axes": pick(True, False),
            "number": pick(True, False), "number-start": pick(0, 10), "number-step": pick(1, 5),
            "number-limit": pick(99, 9999), "number-after": pick("start-again", "stop"),
            "ending": pick("lf", "crlf"), "longest": pick(48, 72, 120),
        },
        "comments": {"style": comments, "longest": pick(34, 60), "message": pick("", "MSG"),
                     "letters": pick("capitals", "ascii")},
        "program": {
            "units": "inch" if inch else "mm", "marks": pick(True, False),
            "number": pick(None, 7), "safe-words": list(safe),
            "end": pick("M30", "M2"), "largest": pick(None, None, 3000),
        },
        "spindle-words": {"speed-alone": pick(True, False), "dwell": pick(True, False),
                          "warm-up": pick([], [[2000, 5]])},
        "arcs": {
            "style": style, "centre-mode-words": pick(True, False),
            "quadrants": pick(True, False), "largest-sweep": pick(360, 180, 90, 45),
            "smallest-radius": pick(0, 0.02), "largest-radius": pick(10000, 20),
            "helices": pick(True, True, False), "planes": pick(["XY", "ZX", "YZ"], ["XY"]),
            "tolerance": max(axis["increment"], pick(0.002, 0.005)) if not inch else 0.01,
        },
        "cycles": {"use": pick(True, False), "return-level": pick("G98", "G99", "none")},
        "dwell": {"word": pick("P", "X"), "unit": pick("s", "ms")},
        "change": {"way": pick("by-hand", "automatic", "one-program-each"),
                   "word": pick("M6", "M6", None)},
        "offsets": {"work": pick("G54", "G55", None), "length": pick("touch-off", "table"),
                    "further": pick(["G56", "G57"], ["G57", "G59"], ["G58"], []),
                    "shift": shift},
        "retract": {"way": pick("plain", "machine", "reference")},
        "rotary": {"way": pick("absolute", "one-way", "shortest", "signed", "incremental"),
                   "turn": pick("rapid", "feed", "inverse-time"),
                   "clamp": pick(None, "M10"), "unwind": pick(True, False)},
        "coolant": {"flood": pick(None, "M8"), "air": pick(None, "M7")},
        "block-skip": pick(True, False), "optional-stop": pick(True, False),
        "subprograms": {"use": bool(head or shift) and pick(True, False)},
    }
    letters = pick(*(["XYZ", "XYW"] * 6), "XZY", "YXZ", "YZX", "ZXY", "ZYX", "UVW")
    for name, letter in zip("xyz", letters, strict=True):
        data[name] = data[name] | {"letter": letter}
    if letters[2] not in "ZW":
        data["cycles"]["use"] = False
    if head and head["kind"] == "driven" and data["rotary"]["way"] == "one-way":
        head |= {"take-up": 0, "sense": "iso"}
    if data["change"]["way"] == "automatic":
        data["change"]["word"] = "M6"
        data["offsets"]["length"] = "table"
    if letters[2] not in "ZW":
        data["change"]["way"], data["offsets"]["length"] = "by-hand", "touch-off"
    stops = data["change"]["way"] == "by-hand" and data["offsets"]["length"] == "touch-off"
    if shift == "G92" and not stops:
        # Where no program stops to set the zero anew, none may be left shifted.
        data["offsets"]["shift"] = "G52"
    if data["rotary"]["way"] in ("incremental", "shortest"):
        data["rotary"]["unwind"] = True
    data["rotary"]["unclamp"] = "M11" if data["rotary"]["clamp"] else None
    _with_newer_words(data, seed)
    return Machine.model_validate(data)


def _with_newer_words(data: dict[str, Any], seed: int) -> None:
    """Probing, pulses, T with its offset, program marks and merging, drawn from a seed of their own
    so that all else is as it was."""
    rng = random.Random(f"newer {seed}")
    if rng.random() < 0.3 and data["offsets"]["work"]:
        data["probing"] = {
            "touch": rng.choice(["G31", "G38.2"]), "feed": rng.choice([20, 50]),
            "zero": rng.choice(["G10 L20 P1 {place}", "G10 L20 P{station} {place}"]),
            "search": rng.choice([0.5, 1.0])}
    data["blocks-per-second"] = rng.choice([200, 200, 1000, 25, 5])
    data["merge-within"] = rng.choice([0.0, 0.001, 0.003])
    program = data["program"]
    program["mark-named"] = program["marks"] and rng.random() < 0.3
    program["number-mark"] = rng.choice(["O", "O", ":"])
    program["number-figures"] = rng.choice([4, 1, 5])
    if data["offsets"]["length"] == "table" and rng.random() < 0.4:
        data["change"] |= {"with-offset": rng.choice([[2, 2], [1, 2], [2, 4]]),
                           "offset-ended-by": rng.choice(["T0100", "T0000"])}
    head, rotary = data["dividing"], data["rotary"]
    if head and head["kind"] == "driven" and rng.random() < 0.15:
        data["dividing"] = {name: head[name] for name in ("kind", "letter", "arrangement")} | {
            "take-up": 0, "pulses": rng.choice([24, 60, 360])}
        data["rotary"] = {"way": "by-pulse", "pulse": "M21", "clamp": rotary["clamp"],
                          "unclamp": rotary["unclamp"],
                          "answered": rng.choice([None, "M22"])}
