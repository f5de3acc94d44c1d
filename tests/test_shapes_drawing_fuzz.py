"""No drawing, however broken, gives anything but a drawing or faults in words."""

import io
import random
from pathlib import Path as FilePath

import ezdxf
import pytest
from drawings_by_hand import train_bridge
from sampling import sampled

from camgen.drawings.drawing import Drawing, read_drawing
from camgen.faults import Refused

SVG = b"""<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="18mm" height="9mm" viewBox="-9 -4.5 18 9">
<g id="plate" transform="rotate(30 1 2) scale(1.5,-1.5)"><rect x="1" y="1" width="4" height="2"
rx=".5"/><circle r="1" cx="-5"/><ellipse rx="2" ry="1" cy="6"/></g>
<path id="eye" d="M10 10a1 1 0 1 1 0 2a1 2 0 0 1 0-2zM20,0C21,0 22,1 22 2S21 4 20 4Q18 2 20 0z"/>
<defs><polygon id="p" points="30,0 31,0 31,1"/></defs><use href="#p" x="4"/>
<line x1="40" x2="41"/><polyline points="41,0 41,1 40,0"/></svg>
"""


def full_dxf() -> bytes:
    document = ezdxf.new("R2000")
    document.units = 4
    space = document.modelspace()
    space.add_ellipse((10, 0), (3, 0), 0.5)
    space.add_lwpolyline([(20, 0, 0), (24, 0, 1), (24, 2, 0), (20, 2, 1)], format="xyb", close=True)
    space.add_polyline2d([(30, 0, 1), (34, 0, 1)], format="xyb", close=True)
    space.add_spline([(40, 0), (42, 1), (44, 0), (42, -3), (40, 0)])
    document.blocks.new("eye").add_circle((0, 0), 1)
    space.add_blockref("eye", (60, 0), {"xscale": 2, "column_count": 2, "column_spacing": 5})
    space.add_text("bridge")
    out = io.StringIO()
    document.write(out)
    # Only what holds the drawing is broken: the rest of such a file is names and defaults.
    return out.getvalue().encode()


def broken(data: bytes, chance: random.Random, focus: tuple[int, int]) -> bytes:
    """Cut, doubled, swapped and overwritten in a few places."""
    out = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        if len(out) < 4:
            break
        low = min(focus[0], len(out) - 2)
        high = max(low + 1, min(focus[1], len(out) - 1))
        one, other = sorted((chance.randint(low, high), chance.randint(low, high)))
        way = chance.randrange(6)
        if way == 0:
            del out[one : min(other, one + chance.choice((1, 5, 60)))]
        elif way == 1:
            out[one], out[other] = out[other], out[one]
        elif way == 2:
            out[one] = chance.randrange(256)
        elif way == 3:
            out[one:one] = out[one : one + chance.choice((1, 20, 200))]
        elif way == 4:
            out[one : one + 1] = chance.choice(
                (b"nan", b"1e308", b"-", b"99999999", b"0", b"inf", b"\n", b"e", b"\xff", b"9"))
        elif chance.random() < 0.2:
            del out[other:]
    return bytes(out)


def told(folder: FilePath, kind: str, data: bytes, seeds: range, focus: tuple[int, int]
         ) -> tuple[int, int]:
    """How many broken drawings were still read, and how many refused in words."""
    path = folder / f"broken.{kind}"
    read = refused = 0
    for seed in seeds:
        path.write_bytes(broken(data, random.Random(seed), focus))
        try:
            answer: Drawing | Refused = read_drawing(path)
        except Refused as no:
            answer = no
        if isinstance(answer, Drawing):
            assert answer.loops, seed
            read += 1
        else:
            assert answer.faults, seed
            refused += 1
    return read, refused


@pytest.mark.parametrize("kind", sampled(["svg", "dxf"], 2))
def test_broken_drawings_are_read_or_refused(tmp_path: FilePath, kind: str) -> None:
    data = SVG if kind == "svg" else train_bridge().encode()
    read, refused = told(tmp_path, kind, data, range(60), (0, len(data)))
    # Both happen, or the breaking would be too coarse or too fine to say anything.
    assert read > 2
    assert refused > 8


def test_a_drawing_with_all_its_tables_may_be_broken_too(tmp_path: FilePath) -> None:
    data = full_dxf()
    begin = data.index(b"ENTITIES")
    assert sum(told(tmp_path, "dxf", data, range(6), (begin, len(data)))) == 6


@pytest.mark.long
@pytest.mark.parametrize("kind", ["svg", "dxf", "full dxf"])
def test_thousands_of_broken_drawings_are_read_or_refused(tmp_path: FilePath, kind: str) -> None:
    data = {"svg": SVG, "dxf": train_bridge().encode(), "full dxf": full_dxf()}[kind]
    begin = data.index(b"BLOCKS") if kind == "full dxf" else 0
    count = 600 if kind == "full dxf" else 5000
    assert sum(told(tmp_path, kind[-3:], data, range(count), (begin, len(data)))) == count
