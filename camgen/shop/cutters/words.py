"""Cutters said in words: in trade words on a command line, and in the workshop's own table."""

import os
import re
from pathlib import Path
from typing import Any

from camgen.faults import Fault, Refused, did_you_mean, nearest
from camgen.messages import Message
from camgen.shop.cutters.cutter import Cutter, usual
from camgen.shop.cutters.records import RECORDS, CutterKind, record_of
from camgen.shop.cutters.sense import disagreements
from camgen.yamlfile import read_yaml, validated

__all__ = ["OWN_CUTTERS", "cutter_text", "find_cutter", "own_cutters", "parse_cutter"]

OWN_CUTTERS = "cutters.yaml"

_KIND_WORDS: dict[str, CutterKind] = {
    word: kind for kind, record in RECORDS.items() for word in (kind, *record.said)
}
_MEASURES = {
    "reach": "reach", "stick-out": "reach", "out": "reach", "flute-length": "flute_length",
    "flutes-length": "flute_length", "shank": "shank", "holder": "holder",
    "corner": "corner_radius", "corner-radius":
    "corner_radius", "edge": "edge_radius", "edge-radius": "edge_radius", "run-out": "run_out",
    "angle": "point_angle", "point-angle": "point_angle", "pitch": "pitch", "tip": "tip", "arbor":
    "arbor", "thickness": "thickness", "number": "number", "diameter": "diameter",
    "highest-speed": "highest_speed",
}
_LONGEST = 1000.0
_COUNTED = ("flutes", "flute", "teeth", "tooth", "lips", "lip", "edges")
_UNITS = {"mm": 1.0, "um": 0.001, "µm": 0.001, "μm": 0.001, "in": 25.4, "inch": 25.4}
_FIGURE = re.compile(r"[øØ]?([0-9]*\.?[0-9]+)(mm|um|µm|μm|in|inch|°)?")


def parse_cutter(text: str) -> Cutter:
    """A cutter said in trade words: its kind, its diameter, and what else is known of it.

    Lengths are mm unless ``um`` or ``inch`` follows. Raises Refused with every word that is not
    understood.

    >>> cutter = parse_cutter("end-mill 0.4 2 flutes reach 1.6")
    >>> cutter.kind, cutter.diameter, cutter.flutes, cutter.reach, cutter.material
    ('end-mill', 0.4, 2, 1.6, 'carbide')
    >>> parse_cutter("hss drill 0.75mm flute length 6").flute_length
    6.0
    """
    found, faults = _understood(_joined(text.replace(",", " ").lower().split()))
    faults += _missing_or_senseless(found)
    if faults:
        raise Refused(faults)
    if "number" in found:
        found["number"] = int(found["number"])
    found.setdefault("flutes", int(usual(found["kind"], "flutes")))
    cutter = Cutter(**found)
    wrong = [Fault(one.what, one.remedy) for one in disagreements(cutter)]
    if wrong:
        raise Refused(wrong)
    return cutter


def _understood(words: list[str]) -> tuple[dict[str, Any], list[Fault]]:
    """What the words say of the cutter, by the names of its fields, and the faults in them."""
    faults: list[Fault] = []
    found: dict[str, Any] = {}
    place = 0
    while place < len(words):
        word = words[place]
        if word in _KIND_WORDS and "kind" not in found:
            found["kind"] = _KIND_WORDS[word]
            place += 1
            continue
        if word in ("hss", "carbide", "diamond"):
            found["material"] = word
            place += 1
            continue
        if word in _MEASURES:
            value, used = _figure(words, place + 1)
            if value is None:
                faults.append(Fault(Message("{word} is followed by no figure", word=word),
                                    Message("such as {word} 1.5", word=word)))
            else:
                found[_MEASURES[word]] = value
            place += 1 + used
            continue
        value, used = _figure(words, place)
        if value is not None:
            after = words[place + used] if place + used < len(words) else ""
            if after in _COUNTED:
                if value != int(value) or not 1 <= value <= 60:
                    faults.append(Fault(
                        Message("{value:g} {what} make no sense", value=value, what=after),
                        Message("1 to 60")))
                found["flutes"] = int(value)
                used += 1
            elif "diameter" not in found:
                found["diameter"] = value
            else:
                faults.append(Fault(
                    Message("{word} stands alone: what is it?", word=words[place]),
                    Message("say before it what it measures, such as reach or shank")))
            place += used
            continue
        if word in _COUNTED:
            faults.append(Fault(Message("no number stands before {word}", word=word),
                                Message("such as {example}", example=f"2 {word}")))
            place += 1
            continue
        known = [*_KIND_WORDS, *_MEASURES, "flutes", "teeth", "hss", "carbide", "diamond"]
        faults.append(Fault(
            Message("'{word}' is not a word of a cutter", word=word),
            did_you_mean(word, known, Message(
                "known are kinds of cutter, such as end-mill, drill or form-disc; reach, "
                "flute-length, shank, corner, angle, pitch, run-out; flutes; hss, carbide, "
                "diamond"))))
        place += 1
    return found, faults


def _missing_or_senseless(found: dict[str, Any]) -> list[Fault]:
    """Faults of a cutter of which something is missing, or cannot be."""
    faults: list[Fault] = []
    if "kind" not in found:
        faults.append(Fault(Message("the kind of cutter is missing"),
                            Message("such as end-mill 0.4 2 flutes")))
    if "diameter" not in found:
        faults.append(Fault(Message("the cutter's diameter is missing"),
                            Message("such as end-mill 0.4 2 flutes")))
    faults += [Fault(Message("{word} is 0", word=name.replace("_", "-")), Message("more than 0"))
               for name, value in found.items()
               if value == 0 and name not in ("tip", "run_out", "corner_radius")]
    faults += [Fault(Message("{word} of {value:g} mm makes no sense", word=name.replace("_", "-"),
                             value=value), Message("at most {most:g} mm", most=_LONGEST))
               for name, value in found.items()
               if name in _MEASURES.values() and value > _LONGEST
               and name not in ("point_angle", "number", "highest_speed")]
    if not 0.0 < found.get("point_angle", 90.0) < 180.0:
        faults.append(Fault(
            Message("an angle of {angle:g}° makes no sense", angle=found["point_angle"]),
            Message("more than 0 and less than 180")))
    if not 1 <= found.get("number", 1) <= 99:
        faults.append(Fault(Message("a cutter's number is from 1 to 99")))
    return faults


def _joined(words: list[str]) -> list[str]:
    """Names of two or three words made one, with hyphens: ``flute length``, ``ball end mill``."""
    joined: list[str] = []
    place = 0
    while place < len(words):
        for many in (3, 2, 1):
            name = "-".join(words[place:place + many])
            if many == 1 or name in _KIND_WORDS or name in _MEASURES:
                joined.append(name)
                place += max(1, min(many, len(words) - place))
                break
    return joined


def _figure(words: list[str], place: int) -> tuple[float | None, int]:
    """The number at ``place`` in mm or degrees, and how many words it takes; None when none."""
    if place >= len(words):
        return None, 0
    match = _FIGURE.fullmatch(words[place])
    if match is None:
        return None, 0
    unit, used = match[2], 1
    if unit is None and place + 1 < len(words) and words[place + 1] in (*_UNITS, "°", "degrees"):
        unit, used = words[place + 1], 2
    return float(match[1]) * _UNITS.get(unit or "", 1.0), used


def own_cutters(workshop: Path | None) -> dict[str, Cutter]:
    """The cutters of the workshop's own table, ``cutters.yaml``, by name.

    Each is written as in a job file. Raises Refused with every fault of the table.
    """
    if workshop is None or not os.path.lexists(workshop / OWN_CUTTERS):
        return {}
    table = read_yaml(workshop / OWN_CUTTERS)
    if not isinstance(table.data, dict):
        raise Refused(Fault(
            Message("the table of cutters is not a list of names with their words"),
            Message("write a cutter's name, a colon, and its words indented beneath"),
            table.place()))
    faults: list[Fault] = []
    cutters: dict[str, Cutter] = {}
    for name in table.data:
        cutter, wrong = validated(Cutter, table, at=(name,))
        faults += wrong
        faults += [Fault(Message("{name}: {fault}", name=name, fault=one.what), one.remedy,
                         table.place((name, one.word), key=one.present))
                   for one in (disagreements(cutter) if cutter is not None else ())]
        if cutter is not None:
            cutters[str(name)] = cutter
    if faults:
        raise Refused(faults)
    return cutters


def find_cutter(words: str, workshop: Path | None = None) -> Cutter:
    """The workshop's cutter of that name, else the one said in trade words.

    Raises Refused when the words are not understood, naming also the workshop's nearest cutter.

    >>> find_cutter("drill 0.75").kind
    'drill'
    """
    cutters = own_cutters(workshop)
    if words.strip() in cutters:
        return cutters[words.strip()]
    try:
        return parse_cutter(words)
    except Refused as no:
        near = nearest(words.strip(), cutters)
        if not near:
            raise
        raise Refused([*no.faults, Fault(
            Message("no cutter of the workshop is called '{name}'", name=words.strip()),
            Message("did you mean {near}?", near=near))]) from None


def cutter_text(cutter: Cutter) -> str:
    """The cutter in a few words, as :func:`parse_cutter` reads them.

    >>> cutter_text(parse_cutter("end-mill 0.4 2 flutes reach 1.6"))
    'carbide end-mill 0.4 mm, 2 flutes, reach 1.6'
    """
    parts = [f"{cutter.material} {cutter.kind} {cutter.diameter:g} mm"]
    parts.append(f"{cutter.flutes} flute{'s' if cutter.flutes > 1 else ''}")
    if record_of(cutter).conical:
        parts.append(f"angle {cutter.cone_angle:g}")
    for word, value in (("corner", cutter.corner_radius), ("tip", cutter.tip),
                        ("pitch", cutter.pitch), ("flute-length", cutter.flute_length),
                        ("reach", cutter.reach), ("shank", cutter.shank), ("holder", cutter.holder),
                        ("arbor", cutter.arbor)):
        if value:
            parts.append(f"{word} {value:g}")
    return ", ".join(parts)
