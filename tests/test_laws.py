"""Laws of carving from Python, under hypothesis."""

from __future__ import annotations

import bracewright as bw
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

WOOD = bw.Wood.published("Sitka spruce")
BLANK = bw.Blank(WOOD, length_mm=420, width_mm=8.0, height_mm=17.0, mass_g=23.6)
RIG = bw.Rig.three_point(span_mm=380, load_n=19.6)


def drawing(depth: float, at: float, length: float, end: float, section: bw.Section | None = None) -> bw.Brace:
    shape = (
        bw.Profile.straight(420, 16)
        .with_ends(length_mm=50, height_mm=end)
        .with_scallop(at_mm=at, length_mm=length, depth_mm=depth)
    )
    return bw.Brace(BLANK, shape, section or bw.Section.rectangle())


shapes = st.builds(
    drawing,
    depth=st.floats(0.5, 9.0),
    at=st.floats(120.0, 300.0),
    length=st.floats(60.0, 130.0),
    end=st.floats(1.5, 6.0),
    section=st.sampled_from(
        [bw.Section.rectangle(), bw.Section.parabolic_cap(rise_mm=5), bw.Section.rounded_cap(rise_of_height=0.3)]
    ),
)


@settings(max_examples=12, deadline=None)
@given(shapes, st.floats(0.2, 2.0))
def test_a_deeper_scallop_takes_mass_and_stiffness(brace, more):
    depth = brace.dimension("scallop depth")
    deeper = brace.with_dimension("scallop depth", min(depth + more, 11.0))
    assert deeper.mass_g <= brace.mass_g + 1e-12
    # the resolved answer to its own discretisation error
    (c0, e0), (c1, e1) = RIG.compliance_mm_per_n(brace), RIG.compliance_mm_per_n(deeper)
    assert c1 >= c0 - e0 - e1
    assert RIG.section_compliance_mm_per_n(deeper) >= RIG.section_compliance_mm_per_n(brace) * (1 - 1e-12)


@settings(max_examples=10, deadline=None)
@given(shapes, st.floats(0.4, 2.0))
def test_passes_add_up_and_lie_inside_each_other(brace, max_depth):
    plan = bw.plan_passes(BLANK, brace, max_depth_mm=max_depth)
    assert sum(p.grams_off for p in plan.passes) == pytest.approx(plan.start.mass_g - brace.mass_g, abs=1e-9)
    x = np.linspace(0, 420, 211)
    height = plan.start.profile.height_mm(x)
    for p in plan.passes:
        after = p.after.profile.height_mm(x)
        assert (after <= height + 1e-9).all()
        assert (height - after).max() <= max_depth + 1e-9
        height = after
    assert np.allclose(height, brace.profile.height_mm(x), atol=1e-9)


@settings(max_examples=8, deadline=None)
@given(shapes)
def test_a_mirrored_brace_mirrors(brace):
    x = np.linspace(0, 420, 43)
    mirror = brace.mirrored()
    assert np.allclose(mirror.ei_n_m2(420 - x), brace.ei_n_m2(x), rtol=1e-9, atol=1e-9)
    assert mirror.mass_g == pytest.approx(brace.mass_g, rel=1e-12)
    assert RIG.compliance_mm_per_n(mirror)[0] == pytest.approx(RIG.compliance_mm_per_n(brace)[0], rel=1e-9)


@pytest.mark.parametrize("text", ["2 kg", "2,0 kg", "2000 g", "4.409245243697551 lbf", "19.6133 N"])
def test_the_same_load_in_any_unit(text):
    # 1 kgf = 9.80665 N exactly; 1 lbf = 4.4482216152605 N exactly (NIST SP 811)
    assert bw.Rig.three_point(span_mm=380, load_n=text).load_n == pytest.approx(19.6133, rel=1e-12)


def test_a_straight_blank_reads_as_the_handbook_says():
    # Wood Handbook Eq. 9-2 (formula confirmed in a stored copy): P L^3/(48 E I) + P L/(4 G A'), A' = 5bh/6. The reading is
    # taken over pads of 10 mm; half a percent covers them.
    brace = bw.Brace.uncarved(BLANK)
    e, g = WOOD.modulus_l_gpa * 1e3, WOOD.shear_lt_gpa * 1e3
    b, h, span, load = 8.0, 17.0, 380.0, 19.6
    want = load * span**3 / (48 * e * b * h**3 / 12) + load * span / (4 * g * 5 * b * h / 6)
    assert RIG.expected(brace).deflection_mm == pytest.approx(want, rel=5e-3)
    assert RIG.expected(brace).section_deflection_mm == pytest.approx(want, rel=2e-3)


def test_arrays_that_exist_already_get_the_same_numbers():
    at, height = [[0, 60, 210]], [[16, 8, 3], [15, 9, 2], [14, 7, 4]]
    lot = bw.Lot.through(at_mm=at, height_mm=height, blend="cosine", mirrored=True, width_mm=8, modulus_gpa=11, density_kg_m3=420)
    fresh = lot.along(stations=41)
    out = {n: np.empty((3, 41)) for n in ("area_mm2", "i_centroid_mm4", "ei_n_m2")} | {"mass_g": np.empty(3)}
    assert lot.along_into(**out) is None
    for name, values in out.items():
        assert np.array_equal(values, getattr(fresh, name))
    given = np.empty(3)
    assert lot.three_point_mm_per_n(span_mm=380, out=given) is given
    assert np.array_equal(given, lot.three_point_mm_per_n(span_mm=380))
