"""Every speed that is claimed, beside what a person would otherwise run. What is not reached says so in the table."""

import bracewright as bw
import numpy as np
import pytest

from . import numpy_side as plain
from . import resolved_side, scene

numba = pytest.importorskip("numba", reason="the sharpened yardsticks are numba (pip install '.[bench]')")
from . import numba_side as compiled  # noqa: E402

CAPPED = bw.Section.triangular_cap(rise_mm=scene.CAP_RISE_MM)
# a family that no yardstick has: it must cost at most three times the rectangle
OUTSIDE = bw.Section.parabolic_cap(rise_mm=5.0)
FAMILIES = {"rectangle": (None, plain.rectangle), "triangular cap": (CAPPED, plain.triangular_cap)}


def worst(a, b):
    return float(np.max(np.abs(np.asarray(a) / np.asarray(b) - 1)))


@pytest.mark.parametrize("family", FAMILIES)
def test_one_brace_along(race, costs, family):
    section, formula = FAMILIES[family]
    brace = scene.brace(section)
    x = brace.stations_mm(scene.STATIONS)
    shapes = scene.one()

    def ours():
        d = brace.drawn(x)
        return d.height_mm, d.area_mm2, d.i_centroid_mm4, d.ei_n_m2

    theirs = plain.along(shapes, formula)
    miss = max(worst(a, b[0]) for a, b in zip(ours()[:3], theirs, strict=False))
    assert miss < 1e-12
    race(f"h, A, I, EI at 2001 stations: {family}", ours, {"numpy": (lambda: plain.along(shapes, formula), 10)}, f"{miss:.0e}")
    if section is None:
        other = scene.brace(OUTSIDE)
        costs("h, A, I, EI at 2001 stations", ours, lambda: other.drawn(x).ei_n_m2)


@pytest.mark.parametrize("family", FAMILIES)
def test_ten_thousand_braces_stored(race, costs, family):
    section, formula = FAMILIES[family]
    n = 10_000
    shapes = scene.many(n, seed=1)
    table = shapes.table()
    lot = scene.lot(shapes, section)
    out = [np.ones((n, scene.STATIONS)) for _ in range(3)] + [np.ones(n)]
    names = ("area_mm2", "i_centroid_mm4", "ei_n_m2", "mass_g")

    def ours():
        lot.along_into(**dict(zip(names, out, strict=True)))

    def numba_two():
        compiled.along_many(table, section is not None, *out)

    ours()
    mine = [v[:50].copy() for v in out]
    plain.along_many(shapes.part(slice(0, 50)), formula, [v[:50] for v in out], 1)
    miss = max(worst(a, b[:50]) for a, b in zip(mine[:2], out, strict=False))
    assert miss < 1e-12
    assert worst(mine[3], out[3][:50]) < 5e-6  # theirs is a trapezoid over the stations
    race(
        f"A, I, EI of 10,000 braces stored: {family}",
        ours,
        {"numpy, 2 threads": (lambda: plain.along_many(shapes, formula, out, 2), 10), "numba, 2 threads": (numba_two, 2)},
        f"{miss:.0e}",
        rounds=4,
    )
    if section is None:
        other = scene.lot(shapes, OUTSIDE)
        costs("A, I, EI of 10,000 braces stored", ours, lambda: other.along_into(**dict(zip(names, out, strict=True))))


def test_hundred_thousand_deflections(race, costs):
    n = 100_000
    shapes = scene.many(n, seed=2)
    table = shapes.table()
    lot = scene.lot(shapes)
    out, theirs = np.ones(n), np.ones(n)
    ours = lambda: lot.three_point_mm_per_n(span_mm=scene.SPAN_MM, out=out)  # noqa: E731
    reference = np.array([plain.three_point_reference(shapes.part(slice(i, i + 1))) for i in range(200)])
    miss = worst(ours()[:200], reference), worst(compiled.three_point(table, theirs)[:200], reference)
    assert max(miss) < 5e-6
    race(
        "100,000 three-point deflections, section beam",
        ours,
        {
            "numpy, vectorised": (lambda: plain.three_point_many(shapes), 50),
            "numba, sharpened, 2 threads": (lambda: compiled.three_point(table, theirs), 1.3),
        },
        f"{miss[0]:.0e} and {miss[1]:.0e}",
    )
    other = scene.lot(shapes, OUTSIDE)
    costs("100,000 three-point deflections", ours, lambda: other.three_point_mm_per_n(span_mm=scene.SPAN_MM, out=out))


def test_five_passes_for_ten_thousand(race, costs):
    n = 10_000
    shapes = scene.many(n, seed=3)
    table = shapes.table()
    lot = scene.lot(shapes)
    span = 1.8 * shapes.half[:, 0]
    how = dict(blank=17.0, allowance=5.0, depth=1.0, count=5)
    ask = dict(blank_height_mm=17.0, allowance_mm=5.0, max_depth_mm=1.0, passes=5, span_mm=span)
    grams, stiffness = np.zeros((n, 5)), np.zeros((n, 6))

    def numba_two():
        compiled.passes_many(table, scene.STATIONS, 17.0, 5.0, 1.0, 5, grams, stiffness)

    def ours():
        p = lot.passes(**ask)
        return p.grams_off, p.stiffness_n_per_mm

    g, k = plain.passes(shapes.part(slice(0, 100)), **how)
    miss = max(worst(ours()[0][:100], g), worst(ours()[1][:100], k))
    assert miss < 2e-4  # theirs is a trapezoid and a Simpson rule across the kinks of the passes
    race(
        "five passes for 10,000 braces",
        ours,
        {"numpy, 2 threads": (lambda: plain.passes_many(shapes, 2, **how), 15), "numba, 2 threads": (numba_two, 2.5)},
        f"{miss:.0e} apart",
        rounds=4,
    )
    other = scene.lot(shapes, OUTSIDE)
    costs("five passes for 10,000 braces", ours, lambda: other.passes(**ask).grams_off)


def test_fit_of_modulus_and_give(race, costs):
    brace = scene.brace()
    shapes = scene.one()
    spans, loads = np.repeat([380.0, 250.0], 4), np.tile([10.0, 20.0, 30.0, 40.0], 2)
    at_one = np.array([plain.three_point(shapes, span=380.0)[0], part_of_the_span(shapes, 250.0)]) * shapes.e[0, 0]
    at_one = np.repeat(at_one, 4)
    rng = np.random.default_rng(4)
    seen = loads * (at_one / 11300.0 + 1.5e-3) + rng.normal(0, 0.002, 8)
    ours = lambda: bw.fit_readings(brace, span_mm=spans, load_n=loads, deflection_mm=seen, beam="section")  # noqa: E731
    mine, theirs = ours(), plain.fit(loads, at_one, seen)
    miss = max(abs(mine.modulus_gpa * 1000 / theirs[0] - 1), abs(mine.u_gpa * 1000 / theirs[2] - 1))
    assert miss < 1e-4
    race(
        "E and give with error bars from 8 readings",
        ours,
        {"scipy least_squares": (lambda: plain.fit(loads, at_one, seen), 30)},
        f"{miss:.0e} apart",
    )
    other = scene.brace(OUTSIDE)
    readings = dict(span_mm=spans, load_n=loads, deflection_mm=seen, beam="section")
    costs("E and give from 8 readings", ours, lambda: bw.fit_readings(other, **readings))


def part_of_the_span(shapes, span):
    """The numpy side over a span that ends before the last piece."""
    cut = scene.Shapes(**{**vars(shapes), "rise_at": np.array([[span / 2]])})
    x, w = plain.gauss_places(cut, span / 2)
    area, i = plain.rectangle(plain.height(x, shapes), shapes.width)
    return ((((span / 2 - x) ** 2 / i + scene.SHEAR * scene.E_OVER_G / area) * w).sum(-1) / (2 * shapes.e[:, 0]))[0]


def test_depth_for_a_goal_section_beam(race, costs):
    shapes = scene.one()
    profile = (
        bw.Profile.straight(420, height_mm=16)
        .with_ends(length_mm=60, height_mm=3)
        .with_scallop(at_mm=110, length_mm=100, depth_mm=7)
        .with_scallop(at_mm=310, length_mm=100, depth_mm=7)
    )
    brace = bw.Brace(scene.brace().blank, profile)
    goal = float(plain.three_point(shapes.with_floor(np.array([[7.0]])))[0])
    want = brace.with_dimension("scallop depth", 6.3).section_three_point_mm_per_n(span_mm=scene.SPAN_MM)
    ask = dict(span_mm=scene.SPAN_MM, goal_mm_per_n=want, low_mm=1.0, high_mm=11.0)
    ours = lambda: bw.section_dimension_for(brace, "scallop depth", **ask)  # noqa: E731
    miss = abs(ours() - 6.3), abs(plain.floor_for(shapes, goal) - 7.0)
    assert miss[0] < 1e-9 and miss[1] < 1e-6
    race(
        "depth for a goal, section beam",
        ours,
        {"scipy brentq": (lambda: plain.floor_for(shapes, goal), 40)},
        f"{miss[0]:.0e} and {miss[1]:.0e} mm",
    )
    other = brace.with_section(OUTSIDE)
    goal_other = other.with_dimension("scallop depth", 6.3).section_three_point_mm_per_n(span_mm=scene.SPAN_MM)
    ask_other = {**ask, "goal_mm_per_n": goal_other}
    costs("depth for a goal", ours, lambda: bw.section_dimension_for(other, "scallop depth", **ask_other))


def test_million_draws(race, costs):
    shapes = scene.one()
    theirs = plain.Tolerance(shapes)
    # the same floor heights: one hollow each side whose depth is drawn
    profile = (
        bw.Profile.straight(420, height_mm=16)
        .with_ends(length_mm=60, height_mm=3)
        .with_scallop(at_mm=110, length_mm=100, depth_mm=8)
        .with_scallop(at_mm=310, length_mm=100, depth_mm=8)
    )
    ask = dict(
        span_mm=scene.SPAN_MM,
        modulus_spread=0.10,
        density_spread=0.05,
        width_spread_mm=0.1,
        dimension="scallop depth",
        dimension_spread_mm=0.3,
        percent=[5, 50, 95],
        draws=1_000_000,
    )
    brace = bw.Brace(scene.brace().blank, profile)
    ours = lambda: bw.tolerance(brace, **ask)  # noqa: E731
    found = ours()
    assert np.all(np.diff(found.stiffness_n_per_mm) > 0)
    race(
        "a million draws with percentiles",
        ours,
        {"numpy, cosines taken out": (lambda: theirs.run(1_000_000, (5, 50, 95)), 4)},
        "percentiles of 1e6 draws",
        rounds=4,
    )
    other = brace.with_section(OUTSIDE)
    costs("a million draws", ours, lambda: bw.tolerance(other, **ask))


def resolved_brace():
    wood = (
        bw.Wood.published("Sitka spruce")
        .with_modulus_l_gpa(11.0)
        .with_value("et_el", 473 / 11000, source="the race")
        .with_value("er_el", 473 / 11000, source="the race")
        .with_value("glt_el", 671 / 11000, source="the race")
        .with_value("glr_el", 671 / 11000, source="the race")
        .with_value("nu_lt", 0.467, source="the race")
    )
    blank = bw.Blank(wood, length_mm=400.0, width_mm=8.0, height_mm=17.0).with_grain(ring_angle_deg=0.0)
    places = np.concatenate([200 - resolved_side.PLACES[::-1], 200 + resolved_side.PLACES[1:]])
    heights = np.concatenate([resolved_side.HEIGHTS[::-1], resolved_side.HEIGHTS[1:]])
    return bw.Brace(blank, bw.Profile.through(at_mm=places, height_mm=heights, blend="cosine"))


def test_depth_resolved_solve(race, costs):
    brace = resolved_brace()
    load = [bw.Load(200.0, 20.0, pad_mm=8.0, on="body")]
    ends = [bw.Support.held(0.0), bw.Support.held(400.0)]
    at = np.array([200.0])
    ours = lambda: brace.bend(load, supports=ends, at_mm=at, dial="mid")  # noqa: E731
    script = lambda: resolved_side.series_and_bands(4, 3, 8.0)  # noqa: E731
    plane = lambda: resolved_side.elements_in_the_plane(12.0, 4)  # noqa: E731
    miss = [abs(v / resolved_side.REFERENCE_MM - 1) for v in (float(ours().deflection_mm[0]), script(), plane())]
    assert max(miss) < 1e-3
    race(
        "a depth-resolved bend with its discretisation",
        ours,
        {"numpy and solveh_banded": (script, 8), "scikit-fem, plane stress": (plane, 20)},
        ", ".join(f"{100 * m:.3f} %" for m in miss),
    )
    other = brace.with_section(OUTSIDE)
    costs("a depth-resolved bend", ours, lambda: other.bend(load, supports=ends, at_mm=at, dial="mid"))


def test_depth_for_a_goal_resolved(race):
    rig = bw.Rig.three_point(span_mm=380.0, load_n=19.6)
    profile = (
        bw.Profile.straight(420, height_mm=16)
        .with_ends(length_mm=50, height_mm=3)
        .with_scallop(at_mm=110, length_mm=100, depth_mm=7)
        .with_scallop(at_mm=310, length_mm=100, depth_mm=7)
    )
    brace = bw.Brace(scene.brace().blank, profile)
    goal = rig.between(1.95, 2.10)
    ours = lambda: bw.carve_to(brace, goal=goal, vary="scallop depth")  # noqa: E731
    found = ours()
    assert found.solves <= 6
    low, high = 1.0, 11.0

    def bisected():
        from scipy.optimize import brentq

        calls = 0

        def f(depth):
            nonlocal calls
            calls += 1
            return float(rig.expected(brace.with_dimension("scallop depth", depth)).deflection_mm) - 2.025

        brentq(f, low, high, xtol=1e-4)
        return calls

    beside = f"brentq on ours, {bisected()} calls"
    race(f"depth for a goal, depth-resolved: {found.solves} solves", ours, {beside: (bisected, None)})
