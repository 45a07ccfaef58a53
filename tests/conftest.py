"""A stick, a shape, a rig, as every test of the border uses them. Invented figures."""

import bracewright as bw
import pytest


@pytest.fixture(scope="session")
def wood():
    return bw.Wood.published("Sitka spruce")


@pytest.fixture(scope="session")
def blank(wood):
    return bw.Blank(wood, length_mm=420, width_mm=8.0, height_mm=17.0, mass_g=23.6)


@pytest.fixture(scope="session")
def rig():
    return bw.ThreePoint(span_mm=380, load_n=19.6, u_deflection_mm=0.006)


@pytest.fixture(scope="session")
def shape():
    return (
        bw.Profile.straight(420, height_mm=16)
        .with_ends(length_mm=50, height_mm=3)
        .with_scallop(at_mm=110, length_mm=100, depth_mm=7)
        .with_scallop(at_mm=310, length_mm=100, depth_mm=7)
    )


@pytest.fixture(scope="session")
def brace(blank, shape):
    return bw.Brace(blank, shape, bw.Section.parabolic_cap(rise_mm=5))


@pytest.fixture(scope="session")
def plan(blank, brace):
    return bw.plan_passes(blank, brace, max_depth_mm=2.0)


@pytest.fixture(scope="session")
def bench(plan, rig):
    read = rig.expected(plan.end).deflection_mm
    return bw.Bench(plan, rig, goal=rig.between(0.95 * read, 1.02 * read), draws=500)
