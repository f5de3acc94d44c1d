"""Colours are legible, and told apart by every kind of colour vision and without colour."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from motion_by_hand import stack

import camgen.preview
from camgen.job.on_arbor import NAMES, ArborBody, Tailstock, bodies_before
from camgen.preview.head.on_arbor import arbor_key, hatch_of
from camgen.preview.paper.board import new_board
from camgen.preview.paper.palette import DARK, DASHES, HATCHES, LIGHT, Palette, shade
from camgen.words import languages, words

# Dichromacy in linear RGB: Machado, Oliveira & Fernandes, "A physiologically-based model for
# simulation of color vision deficiency", IEEE TVCG 15 (2009), severity 1.0 (matrices from memory;
# each row sums to 1, so that greys stay grey, which is checked below).
DICHROMATS = {
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
                   [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
                     [-0.011820, 0.042940, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
                   [0.004733, 0.691367, 0.303900]],
}
PALETTES = pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])


def linear(colour: str) -> np.ndarray:
    """Linear RGB of ``#RRGGBB`` (IEC 61966-2-1)."""
    coded = np.array([int(colour[i:i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def contrast(first: str, second: str) -> float:
    """WCAG 2.2 contrast ratio."""
    high, low = sorted((float(linear(colour) @ [0.2126, 0.7152, 0.0722])
                        for colour in (first, second)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE L*a*b* of linear sRGB, white D65."""
    matrix = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750],
                       [0.0193339, 0.1191920, 0.9503041]])
    ratio = np.clip(matrix @ rgb, 0, None) / np.array([0.95047, 1.0, 1.08883])
    curve = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * curve[1] - 16, 500 * (curve[0] - curve[1]),
                     200 * (curve[1] - curve[2])])


def test_contrast_formula_gives_the_figures_of_the_guideline() -> None:
    # WCAG 2.2: black on white is 21:1; #767676 on white is the well-known least grey for text.
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert 4.5 <= contrast("#767676", "#FFFFFF") < 4.6


def test_lab_of_sRGB_red_is_as_tabulated() -> None:
    # L* 53.24, a* 80.09, b* 67.20 (D65, widely tabulated, from memory).
    assert lab(linear("#FF0000")) == pytest.approx([53.24, 80.09, 67.20], abs=0.05)


def test_simulated_dichromats_see_greys_as_greys() -> None:
    for matrix in DICHROMATS.values():
        assert np.sum(matrix, axis=1) == pytest.approx([1, 1, 1], abs=2e-6)


@PALETTES
def test_text_is_legible_on_paper_and_on_stock(colours: Palette) -> None:
    for ground in (colours.paper, colours.stock):
        assert contrast(colours.ink, ground) >= 7.0
        assert contrast(colours.quiet, ground) >= 4.5


@PALETTES
def test_lines_stand_out_from_paper_and_stock(colours: Palette) -> None:
    for role in colours.lines:
        for ground in (colours.paper, colours.stock):
            assert contrast(getattr(colours, role), ground) >= 3.0, role
    # The middle lines of cuts are drawn in paper on the deep shade.
    assert contrast(colours.paper, colours.deep) >= 3.0


@PALETTES
def test_roles_are_told_apart_by_every_kind_of_colour_vision(colours: Palette) -> None:
    # A difference of 2.3 in L*a*b* is just noticeable (Mahy et al. 1994); ten times that is plain.
    roles = ("rapid", "wanted", "missing", "ink")
    for name, matrix in {"all": np.eye(3), **DICHROMATS}.items():
        for first, second in combinations(roles, 2):
            seen = [lab(np.clip(np.array(matrix) @ linear(getattr(colours, role)), 0, 1))
                    for role in (first, second)]
            assert np.linalg.norm(seen[0] - seen[1]) >= 23, (name, first, second)


@PALETTES
def test_depth_grows_by_even_steps_of_lightness(colours: Palette) -> None:
    light = [lab(linear(shade(colours, depth)))[0] for depth in (0, 0.2, 0.4, 0.6, 0.8, 1.0)]
    steps = np.diff(light)
    assert np.all(np.sign(steps) == np.sign(steps[0]))
    assert np.all(np.abs(steps) >= 5.0)


def test_what_lies_on_one_panel_differs_in_dashes_too() -> None:
    # Told apart in black and white: no two kinds of line that meet share a pattern.
    together = ("edge", "rapid", "wanted", "pitch", "travel", "hidden")
    assert len({DASHES[kind] for kind in together}) == len(together)


@pytest.mark.parametrize("ground", ["light", "dark"])
def test_the_page_has_the_palettes_colours_and_is_legible(ground: str) -> None:
    # WCAG 2.2: text 4.5 : 1 (1.4.3), parts of controls and the focus 3 : 1 (1.4.11, 2.4.13).
    style = (Path(camgen.preview.__file__).parent / "bench_page" / "page.css").read_text("utf-8")
    block = re.search(r':root\[data-ground="dark"\] {(.*?)}' if ground == "dark"
                      else r":root {(.*?)}", style)
    assert block is not None
    named = dict(re.findall(r"--(\w+): (#\w{6})", block[1].lower()))
    colours = DARK if ground == "dark" else LIGHT
    for name, role in (("paper", "paper"), ("ink", "ink"), ("quiet", "quiet"), ("mark", "mark")):
        assert named[name] == getattr(colours, role).lower()
    assert contrast(named["ink"], named["paper"]) >= 7.0
    assert contrast(named["quiet"], named["paper"]) >= 4.5
    focus = re.search((r'data-ground="dark"\] ' if ground == "dark" else r"\n")
                      + r":focus-visible {[^}]*?(#\w{6})", style)
    assert focus is not None
    assert contrast(focus[1], named["paper"]) >= 3.0


def test_each_thing_on_the_arbor_has_a_word_and_a_look_of_its_own() -> None:
    """Also a thing that is added to the job's words."""
    assert set(NAMES) | {"tailstock", "backing"} == set(HATCHES)
    assert len(set(HATCHES.values())) == len(HATCHES)
    for language in languages():
        say = words(language)
        told = [say("on-arbor", name) for name in HATCHES]
        assert len(set(told)) == len(told), language


@pytest.mark.parametrize("language", languages())
def test_the_key_names_what_stands_there_and_nothing_else(language: str) -> None:
    layout = stack(before=bodies_before(
        (ArborBody(nut=5.0, length=4.0),), Tailstock(**{"centre": 4, "body": 9, "from": 12})),
        behind=())
    board = new_board(200.0, 100.0, LIGHT, language)
    key = dict(arbor_key(board, layout))
    assert set(key) == {"nut", "tailstock", "backing", "arbor"}
    assert key["nut"] == words(language)("on-arbor", "nut")
    assert hatch_of("tailstock's centre") == hatch_of("tailstock") != hatch_of("nut")
