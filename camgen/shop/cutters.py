"""Cutters as described in job files and the workshop's table; all lengths mm, angles degrees."""

import re
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from camgen.faults import Fault, Refused, nearest
from camgen.shop.model import FileModel, Length, LengthOrZero, Module
from camgen.shop.tables import block
from camgen.yamlfile import read_yaml, validated

__all__ = ["Cutter", "CutterKind", "CutterMaterial", "MadeFor", "cutter_text", "find_cutter",
           "own_cutters", "parse_cutter", "usual"]

OWN_CUTTERS = "cutters.yaml"

CutterKind = Literal[
    "drill", "spot-drill", "end-mill", "ball-end-mill", "bull-end-mill", "chamfer-mill", "engraver",
    "countersink", "counterbore", "reamer", "boring-bar", "tap", "thread-mill", "form-disc",
    "fly-cutter",
]
CutterMaterial = Literal["hss", "carbide", "diamond"]


class MadeFor(FileModel):
    """The tooth space a form cutter was made to leave."""

    form: Literal["cycloidal-wheel", "cycloidal-pinion", "involute", "ratchet"] = Field(
        description="the tooth form it cuts"
    )
    module: Module = Field(description="module, always in mm")
    teeth: int = Field(ge=2, le=1000, description="number of teeth or leaves it was made for")
    mate: int | None = Field(
        None, ge=2, le=1000, description="leaves or teeth of the mate it was made for"
    )
    addendum: Literal["round", "one-third-ogive", "two-thirds-ogive"] = Field(
        "one-third-ogive", description="cycloidal pinions: the top of the leaves"
    )
    pressure_angle: float = Field(20.0, gt=5, lt=40, description="involute only, degrees")
    profile_shift: float = Field(0.0, ge=-1, le=1, description="involute only, in modules")
    front: float = Field(0.0, ge=0, le=30, description="ratchet: undercut of the front, degrees")
    back: Literal["straight", "curved"] = Field("straight", description="ratchet: the back's shape")
    depth: Length | None = Field(None, description="ratchet: depth of the teeth")


class Cutter(FileModel):
    """One cutter.

    ``reach`` is what stands out of the collet, ``flute_length`` the part that cuts, ``shank`` the
    diameter above it, ``holder`` that of what holds it. For ``form-disc`` and ``fly-cutter``
    ``diameter`` is over the cutting points and ``flutes`` the number of teeth (1 for a fly cutter).
    A ``tap`` or ``thread-mill`` has a ``pitch``; a tap's ``diameter`` is the thread's. ``tip`` is
    the flat at the point of a pointed cutter; a ``boring-bar``'s ``diameter`` is the hole it bores
    and its ``shank`` the bar.
    """

    kind: CutterKind = Field(description="what sort of cutter it is")
    diameter: Length = Field(description="cutting diameter; of a disc, over its points")
    flutes: int = Field(2, ge=1, le=60, description="cutting edges; 1 for a fly cutter")
    flute_length: Length | None = Field(None, description="length of the part that cuts")
    reach: Length | None = Field(None, description="what stands out of the collet")
    shank: Length | None = Field(None, description="diameter above the part that cuts")
    holder: Length | None = Field(
        None, description="diameter of the collet's nut or holder above the reach; else 20 mm"
    )
    material: CutterMaterial = Field("carbide", description="what it is made of")
    point_angle: float = Field(
        118.0, gt=0, lt=180,
        description="drills and pointed cutters: included angle of the point, degrees",
    )
    tip: LengthOrZero = Field(0.0, description="pointed cutters: diameter of the flat at the point")
    pitch: Length | None = Field(None, description="taps and thread mills: pitch of the thread")
    corner_radius: LengthOrZero = Field(0.0, description="end mills: radius at the corner")
    edge_radius: Length | None = Field(None, description="sharpness: radius of the edge")
    run_out: LengthOrZero | None = Field(
        None, description="total run-out when it turns; else the spindle's"
    )
    thickness: Length | None = Field(None, description="form-disc: width of the disc")
    arbor: Length | None = Field(
        None, description="form-disc: diameter of the collar that holds it"
    )
    number: int | None = Field(None, ge=1, le=99, description="place in the rack or changer")
    modulus: float | None = Field(
        None, ge=1e4, le=1.5e6, description="elastic modulus by its maker's sheet, N/mm²"
    )
    strength: float | None = Field(
        None, ge=50, le=2e4, description="bending strength by its maker's sheet, N/mm²"
    )
    made_for: MadeFor | None = Field(
        None, description="form cutters: the tooth space it was made for"
    )

    @property
    def cone_angle(self) -> float:
        """Included angle of the point, degrees: as given, else what is usual for the kind.

        >>> Cutter(kind="chamfer-mill", diameter=3).cone_angle
        90.0
        """
        if "point_angle" in self.model_fields_set:
            return self.point_angle
        return usual(self.kind, "point-angle") or self.point_angle


def usual(kind: CutterKind, word: str) -> float:
    """What is taken for a kind of cutter where nothing is said, 0 where the table says nothing.

    ``word`` is ``flutes``, ``point-angle`` (degrees), ``reach`` or ``flute-length`` (diameters).

    >>> usual("engraver", "flutes"), usual("end-mill", "reach")
    (1.0, 3.0)
    """
    entry = block("cutters", kind).get(word)
    return float(entry["value"]) if entry else 0.0


_KIND_WORDS: dict[str, CutterKind] = {
    "drill": "drill", "twist-drill": "drill", "spot-drill": "spot-drill", "spotting-drill":
    "spot-drill", "end-mill": "end-mill", "endmill": "end-mill", "slot-drill": "end-mill",
    "ball-end-mill": "ball-end-mill", "ball-mill": "ball-end-mill", "ball": "ball-end-mill",
    "bull-end-mill": "bull-end-mill", "bull-mill": "bull-end-mill", "bull": "bull-end-mill",
    "chamfer-mill": "chamfer-mill", "chamfer": "chamfer-mill", "engraver": "engraver",
    "engraving-point": "engraver", "engraving-cutter": "engraver", "countersink": "countersink",
    "counterbore": "counterbore", "reamer": "reamer", "boring-bar": "boring-bar", "tap": "tap",
    "thread-mill": "thread-mill", "form-disc": "form-disc", "form-cutter": "form-disc", "disc":
    "form-disc", "fly-cutter": "fly-cutter",
}
_MEASURES = {
    "reach": "reach", "stick-out": "reach", "out": "reach", "flute-length": "flute_length",
    "flutes-length": "flute_length", "shank": "shank", "holder": "holder",
    "corner": "corner_radius", "corner-radius":
    "corner_radius", "edge": "edge_radius", "edge-radius": "edge_radius", "run-out": "run_out",
    "angle": "point_angle", "point-angle": "point_angle", "pitch": "pitch", "tip": "tip", "arbor":
    "arbor", "thickness": "thickness", "number": "number", "diameter": "diameter",
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
    words = _joined(text.replace(",", " ").lower().split())
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
                faults.append(Fault(f"{word} is followed by no figure", f"Such as {word} 1.5."))
            else:
                found[_MEASURES[word]] = value
            place += 1 + used
            continue
        value, used = _figure(words, place)
        if value is not None:
            after = words[place + used] if place + used < len(words) else ""
            if after in _COUNTED:
                if value != int(value) or not 1 <= value <= 60:
                    faults.append(Fault(f"{value:g} {after} make no sense", "1 to 60."))
                found["flutes"] = int(value)
                used += 1
            elif "diameter" not in found:
                found["diameter"] = value
            else:
                faults.append(Fault(f"{words[place]} stands alone: what is it?",
                                    "Say before it what it measures, such as reach or shank."))
            place += used
            continue
        known = [*_KIND_WORDS, *_MEASURES, "flutes", "teeth", "hss", "carbide", "diamond"]
        near = nearest(word, known)
        faults.append(Fault(f"{word!r} is not a word of a cutter",
                            f"Did you mean {near}?" if near else
                            "Known are kinds of cutter, such as end-mill, drill or form-disc; "
                            "reach, flute-length, shank, corner, angle, pitch, run-out; "
                            "flutes; hss, carbide, diamond."))
        place += 1
    if "kind" not in found:
        faults.append(Fault("the kind of cutter is missing", "Such as end-mill 0.4 2 flutes."))
    if "diameter" not in found:
        faults.append(Fault("the cutter's diameter is missing", "Such as end-mill 0.4 2 flutes."))
    faults += [Fault(f"{name.replace('_', '-')} is 0", "More than 0.") for name, value in
               found.items() if value == 0 and name not in ("tip", "run_out", "corner_radius")]
    faults += [Fault(f"{name.replace('_', '-')} of {value:g} mm makes no sense",
                     f"At most {_LONGEST:g} mm.") for name, value in found.items()
               if name in _MEASURES.values() and name not in ("point_angle", "number")
               and value > _LONGEST]
    if not 0.0 < found.get("point_angle", 90.0) < 180.0:
        faults.append(Fault(f"an angle of {found['point_angle']:g}° makes no sense",
                            "More than 0 and less than 180."))
    if not 1 <= found.get("number", 1) <= 99:
        faults.append(Fault("a cutter's number is from 1 to 99", ""))
    if faults:
        raise Refused(faults)
    if "number" in found:
        found["number"] = int(found["number"])
    found.setdefault("flutes", int(usual(found["kind"], "flutes")))
    return Cutter(**found)


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
    if workshop is None or not (workshop / OWN_CUTTERS).is_file():
        return {}
    table = read_yaml(workshop / OWN_CUTTERS)
    if not isinstance(table.data, dict):
        raise Refused(Fault("the table of cutters is not a list of names with their words",
                            "Write a cutter's name, a colon, and its words indented beneath.",
                            table.place()))
    faults: list[Fault] = []
    cutters: dict[str, Cutter] = {}
    for name in table.data:
        cutter, wrong = validated(Cutter, table, at=(name,))
        faults += wrong
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
        raise Refused([*no.faults, Fault(f"no cutter of the workshop is called {words.strip()!r}",
                                         f"Did you mean {near}?")]) from None


def cutter_text(cutter: Cutter) -> str:
    """The cutter in a few words, as :func:`parse_cutter` reads them.

    >>> cutter_text(parse_cutter("end-mill 0.4 2 flutes reach 1.6"))
    'carbide end-mill 0.4 mm, 2 flutes, reach 1.6'
    """
    parts = [f"{cutter.material} {cutter.kind} {cutter.diameter:g} mm"]
    parts.append(f"{cutter.flutes} flute{'s' if cutter.flutes > 1 else ''}")
    if cutter.kind in ("drill", "chamfer-mill", "engraver", "countersink", "spot-drill"):
        parts.append(f"angle {cutter.cone_angle:g}")
    for word, value in (("corner", cutter.corner_radius), ("tip", cutter.tip),
                        ("pitch", cutter.pitch), ("flute-length", cutter.flute_length),
                        ("reach", cutter.reach), ("shank", cutter.shank), ("holder", cutter.holder),
                        ("arbor", cutter.arbor)):
        if value:
            parts.append(f"{word} {value:g}")
    return ", ".join(parts)
