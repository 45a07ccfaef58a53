"""A stick, a shape, a rig, as every test of the border uses them. Invented figures."""

import os

# before numpy is read: a second thread of its linear algebra only waits on problems of this size, many times the work
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import bracewright as bw
import numpy as np
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
    return bw.Bench(plan, rig, goal=rig.between(0.95 * read, 1.02 * read))


@pytest.fixture(scope="session")
def sound():
    """Two taps of an invented plate in white noise, 1.2 s."""
    rate_hz, rng = 16_000, np.random.default_rng(5)
    t = np.arange(int(1.2 * rate_hz)) / rate_hz
    y = rng.normal(0, 2e-4, t.size)
    for start in (0.1, 0.65):
        for f, q, a in ((98.0, 22, 0.2), (183.0, 30, 0.15), (342.0, 45, 0.1)):
            since = np.maximum(t - start, 0)
            y += a * np.exp(-np.pi * f * since / q) * np.sin(2 * np.pi * f * since)
    return bw.Sound.from_samples(y, rate_hz=rate_hz)
