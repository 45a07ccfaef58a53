"""A brace glued to a strip of top: times, and beside a solid model in scikit-fem and SuperLU."""

import bracewright as bw
import numpy as np
import pytest
import test_strips as strips
from oracles import solid_strip


def strip(width, angle):
    return bw.Strip(strips.brace(), strips.spruce(), thickness_mm=strips.THICK, width_mm=width, grain_angle_deg=angle)


@pytest.mark.parametrize(("width", "angle"), [(60.0, 0.0), (60.0, 45.0), (160.0, 90.0), (160.0, 45.0)])
def test_a_glued_brace(takes, width, angle):
    """With the coarser solve that its stated error is from."""
    glued = strip(width, angle)
    takes(f"a glued brace on {width:g} mm, grain at {angle:g} degrees", lambda: glued.bend(load_n=20, at_mm=200), 10e-3)


def test_a_margin_drawing(takes):
    glued = strip(60.0, 45.0)
    given = dict(load_n=20, at_mm=200, bending_strength_mpa=65, shear_strength_mpa=7)
    takes("margins at 81 places along a glued brace", lambda: glued.margins(**given), 50e-3)


def test_beside_the_solid(race):
    c = solid_strip.stiffness(**strips.MODULI)
    x, y = strips.lines(40.0, 44)
    glued = strip(40.0, 0.0)

    def solid():
        shape = dict(thickness=strips.THICK, width=strips.WIDE, height=strips.crest)
        return solid_strip.deflection(x, y, **shape, plate=c, brace=c, load=20.0, pad=10.0, layers=(2, 4))[0]

    off = glued.bend(load_n=20, at_mm=200).deflection_mm[0] / solid() - 1
    assert abs(off) < 5e-3
    race(
        "a glued brace on 40 mm, grain along",
        lambda: glued.bend(load_n=20, at_mm=200),
        {"27-node bricks, scikit-fem, SuperLU": (solid, None)},
        f"{100 * off:+.2f} % apart",
        rounds=1,
    )
    assert np.isfinite(off)
