"""The whole top: a braced rectangle against a solid of our own, and what must hold of any top."""

from itertools import pairwise

import bracewright as bw
import numpy as np
import pytest
from oracles import solid_strip, solid_top

MODULI = dict(e_l=11000.0, e_r=900.0, e_t=500.0, g_rt=35.0, g_lt=650.0, g_lr=700.0, nu_lr=0.37, nu_lt=0.42, nu_rt=0.44)
THICK, WIDE, TALL = 2.8, 8.0, 16.0
REACH = (200.0, 160.0)


def spruce():
    m = MODULI
    return bw.Wood.custom(
        "a spruce",
        density_kg_m3=420,
        modulus_l_gpa=m["e_l"] / 1000,
        er_el=m["e_r"] / m["e_l"],
        et_el=m["e_t"] / m["e_l"],
        glr_el=m["g_lr"] / m["e_l"],
        glt_el=m["g_lt"] / m["e_l"],
        grt_el=m["g_rt"] / m["e_l"],
        nu_lr=m["nu_lr"],
        nu_lt=m["nu_lt"],
        nu_rt=m["nu_rt"],
    )


def rib(reach):
    """A brace scalloped on both sides of its middle, its ends run down."""
    blank = bw.Blank(spruce(), length_mm=2 * reach, width_mm=WIDE, height_mm=17)
    shape = bw.Profile.straight(2 * reach, height_mm=TALL).with_ends(length_mm=50, height_mm=3)
    for at in (reach - 80, reach + 80):
        shape = shape.with_scallop(at_mm=at, length_mm=100, depth_mm=9)
    return bw.Brace(blank, shape)


def crest(reach):
    """The same from its formula, by the distance from the middle."""

    def height(s):
        s = np.abs(s)
        end = reach - s
        h = np.where(end < 50, 3 + (TALL - 3) * 0.5 * (1 - np.cos(np.pi * np.clip(end / 50, 0, 1))), TALL)
        v = np.clip((s - 80) / 50, -1, 1)
        return h - 9 * (1 + np.cos(np.pi * v)) / 2

    return height


def divided(knots, most):
    out = [knots[0]]
    for a, b in pairwise(knots):
        out += list(np.linspace(a, b, 1 + max(1, int(np.ceil((b - a) / most))))[1:])
    return np.array(out, float)


@pytest.fixture(scope="module")
def solid():
    """A quarter of 500 x 400 mm, the rib along x and the grain of the plate at 0 to it."""
    x = divided([0, 4, 8, 15, 30, 80, 130, 150, 200, 204, 250], 11)
    y = divided([0, 4, 8, 30, 80, 90, 110, 130, 160, 164, 200], 11)
    c = solid_strip.stiffness(**MODULI)
    across = solid_strip.turned(c, np.pi / 2)
    return solid_top.quarter(
        x,
        y,
        thickness=THICK,
        width=WIDE,
        reach=REACH,
        heights=(crest(REACH[0]), crest(REACH[1])),
        plate=c,
        ribs=(c, across),
        densities=(4.2e-10, 4.2e-10),
    )


def layout():
    """The same as a layout: x of the solid runs along the centreline."""
    outline = bw.Outline.from_points([-200, 200, 200, -200], [0, 0, 500, 500], smooth=False)
    braces = []
    for name, reach, way in (("along", REACH[0], (0, 1)), ("across", REACH[1], (1, 0))):
        start, end = ((0 + sign * reach * way[0], 250 + sign * reach * way[1]) for sign in (-1, 1))
        short = bw.Ending.short(by_mm=20)
        braces.append(bw.PlacedBrace(name, rib(reach), start_mm=start, end_mm=end, role="leg", at_start=short, at_end=short))
    return bw.Layout(
        "a braced rectangle",
        outline=outline,
        wood=spruce(),
        thickness=THICK,
        braces=braces,
        laps=[bw.LapAt(crest_cut="along", glue_cut="across")],
    )


def test_the_crest_is_the_same():
    x = np.linspace(0, 2 * REACH[0], 300)
    assert np.allclose(rib(REACH[0]).profile.height_mm(x), crest(REACH[0])(x - REACH[0]), atol=1e-9)


def test_a_braced_rectangle_is_the_solid_one(solid):
    """Deflection under a patch, turn under two line loads, first frequencies of each symmetry."""
    top = bw.Top(layout(), rim="resting")
    load = bw.TopLoad.spread(load_n=50, corners_mm=[(-90, 235), (90, 235), (90, 265), (-90, 265)])
    found = top.under([load]).deflection_mm([0], [250])[0]
    u = solid.solve(solid.pressed((0, 15), (0, 90)) * 50 / (30 * 180), (True, True))
    middle = np.argmin(np.abs(solid.mesh.doflocs - np.array([[0], [0], [0]])).sum(axis=0))
    assert found == pytest.approx(u[solid.basis.nodal_dofs[2][middle]], rel=5e-3)

    turn = [
        bw.TopLoad.line(load_n=sign * 10000 / 30, from_mm=(-90, 250 + 15 * sign), to_mm=(90, 250 + 15 * sign)) for sign in (-1, 1)
    ]
    # the turn of the lines: work on the couple, its deflections those of the middle of the plate's thickness
    found = top.under(turn).work_n_mm / 10000
    u = solid.solve(solid.along(15, (0, 90)) * 10000 / 30 / 180, (False, True))
    assert found == pytest.approx(solid.mean_along(u, 15, (0, 90)) / 15, rel=1e-2)

    all_of_them = np.concatenate([solid.frequencies((a, b), 4) for a in (True, False) for b in (True, False)])
    frequencies = np.sort(all_of_them[all_of_them > 1])[:6]
    assert top.modes(6).frequencies_hz == pytest.approx(frequencies, rel=5e-3)
