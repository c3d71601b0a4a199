"""Colours: contrast on both grounds, the order of the ramp in grey, and the three verdicts for every eye."""

from itertools import combinations, pairwise

import numpy as np
import pytest

from desalbook import theme
from desalbook.problems import DesignError

TEXT = list(theme.ROLES)
VERDICTS = ("passes", "marginal", "fails")

# Machado, Oliveira and Fernandes 2009, "A physiologically-based model for simulation of color vision
# deficiency", severity 1.0, on linear RGB. From memory; each row must sum to one, for grey stays grey.
DEUTAN = np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
                   [-0.011820, 0.042940, 0.968881]])
PROTAN = np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
                   [-0.003882, -0.048116, 1.051998]])
# IEC 61966-2-1 primaries, linear RGB to XYZ (D65).
XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def linear(colour: str) -> np.ndarray:
    c = np.array([int(colour[i:i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    return float(XYZ[1] @ linear(colour))


def contrast(a: str, b: str) -> float:
    """Contrast ratio of WCAG 2.1, success criterion 1.4.3."""
    low, high = sorted((luminance(a), luminance(b)))
    return (high + 0.05) / (low + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE 1976 L*a*b*."""
    xyz = XYZ @ np.clip(rgb, 0, 1) / XYZ.sum(axis=1)
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def apart(a: str, b: str, eye: np.ndarray) -> float:
    return float(np.linalg.norm(lab(eye @ linear(a)) - lab(eye @ linear(b))))


def test_contrast_formula_gives_the_known_ends():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0, abs=1e-9)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # the grey that just misses


@pytest.mark.parametrize("ground", theme.GROUNDS)
@pytest.mark.parametrize("name", TEXT)
def test_text_roles_reach_the_contrast_on_their_ground(name, ground):
    assert contrast(theme.colour(name, ground), theme.GROUNDS[ground]) >= 4.5


@pytest.mark.parametrize("matrix", (DEUTAN, PROTAN))
def test_simulation_keeps_grey(matrix):
    assert matrix.sum(axis=1) == pytest.approx(np.ones(3), abs=2e-6)


@pytest.mark.parametrize("ground", theme.GROUNDS)
@pytest.mark.parametrize("matrix", (np.eye(3), DEUTAN, PROTAN), ids=("normal", "deutan", "protan"))
def test_verdicts_differ_for_every_eye(matrix, ground):
    # One unit of CIE 1976 difference is about the minimum one sees side by side; twenty is plain at a glance
    # (common practice, no source).
    for a, b in combinations(VERDICTS, 2):
        assert apart(theme.colour(a, ground), theme.colour(b, ground), matrix) >= 20, (a, b)


def test_plain_red_and_green_would_not_pass_for_deutan_eyes():
    # A mid red and a mid green of equal simulated lightness: the pair this test is there to keep out.
    assert apart("#c25b2a", "#7d8a2e", np.eye(3)) > 20 > apart("#c25b2a", "#7d8a2e", DEUTAN)


def test_ramp_darkens_all_the_way_and_stays_off_both_grounds():
    shades = [theme.ramp(t) for t in np.linspace(0, 1, 81)]
    light = [lab(linear(c))[0] for c in shades]
    assert all(a > b for a, b in pairwise(light))
    assert light[0] < 90 and light[-1] > 28
    for eye in (DEUTAN, PROTAN):
        seen = [lab(eye @ linear(c))[0] for c in shades]
        assert all(a > b for a, b in pairwise(seen))


def test_product_sea_and_reject_have_plainly_different_tints():
    product, sea, reject = (theme.tint(s) for s in (0.0003, 0.036, 0.062))
    for eye in (np.eye(3), DEUTAN, PROTAN):
        assert apart(product, sea, eye) > 20 and apart(sea, reject, eye) > 15


def test_ramp_meets_its_anchors_and_clips():
    assert theme.ramp(0) == theme.ramp(-1) == "#abe3cb"
    assert theme.ramp(1) == theme.ramp(7) == theme.tint(1.0) == "#5a3a9c"
    for c in ("#000000", "#ffffff", "#3d93c6", "#ff0000"):
        assert theme._hex(theme.oklab(c)) == c  # there and back: the two sets of matrices are inverse


def test_every_role_has_a_mark_and_a_word_of_its_own():
    marks, words = ([getattr(r, f) for r in theme.ROLES.values()] for f in ("mark", "word"))
    assert all(len(m) == 1 for m in marks) and len(set(marks)) == len(marks)
    assert all(words) and len(set(words)) == len(words)


def test_style_sheet_carries_both_themes_and_paper():
    sheet = theme.css()
    plain, rest = sheet.split("\n", 1)
    dark, paper = rest.split("\n", 1)
    assert plain.startswith(".desalbook{") and dark.startswith('[data-jp-theme-light="false"] .desalbook{')
    assert paper.startswith("@media print{")
    for r in theme.ROLES.values():
        assert f"--db-{r.name}:{r.light};" in plain and f"--db-{r.name}:{r.dark};" in dark
        assert f"--db-{r.name}:{r.light};" in paper and r.dark not in paper
        assert theme.var(r.name) == f"var(--db-{r.name})"
    assert sheet.count("{") == sheet.count("}")


def test_unknown_names_are_refused_in_one_line():
    for call in (lambda: theme.role("gold"), lambda: theme.colour("passes", "sepia")):
        with pytest.raises(DesignError) as caught:
            call()
        assert "\n" not in str(caught.value) and "allowed" in str(caught.value)
