"""How cost grows with stations, braces, draws, unknowns and readings, against the least it could be."""

import bracewright as bw
import numpy as np
import pytest

from . import scene
from .conftest import in_turns


@pytest.fixture(scope="module")
def bandwidth():
    """Bytes a second of writing an array that does not fit the cache."""
    a = np.ones(16_000_000)
    return a.nbytes / in_turns(lambda: a.fill(2.0))[0]


def test_stations(grows, bandwidth):
    brace = scene.brace()

    def make(n):
        x = brace.stations_mm(n)
        return lambda: brace.drawn(x)

    slope = grows("one brace along", "stations", [501, 2001, 8001, 32001], make, f"32 bytes each, {32 / bandwidth * 1e9:.2f} ns")
    assert slope < 1.2


def test_braces(grows, bandwidth):
    def make(n):
        shapes = scene.many(n, seed=1)
        lot = scene.lot(shapes)
        out = [np.ones((n, scene.STATIONS)) for _ in range(3)] + [np.ones(n)]
        names = ("area_mm2", "i_centroid_mm4", "ei_n_m2", "mass_g")
        return lambda: lot.along_into(**dict(zip(names, out, strict=True)))

    floor = f"48024 bytes a brace, {48024 / bandwidth * 1e6:.1f} us on one core"
    assert grows("braces stored", "braces", [250, 1000, 4000], make, floor) < 1.2


def test_deflections(grows):
    def make(n):
        lot = scene.lot(scene.many(n, seed=2))
        return lambda: lot.three_point_mm_per_n(span_mm=scene.SPAN_MM)

    assert grows("three-point deflections, section beam", "braces", [1000, 10_000, 100_000], make) < 1.2


def test_draws(grows):
    profile = bw.Profile.straight(420, height_mm=16).with_scallop(at_mm=110, length_mm=100, depth_mm=8)
    brace = bw.Brace(scene.brace().blank, profile)
    ask = dict(span_mm=380, modulus_spread=0.1, density_spread=0.05, dimension="scallop depth", dimension_spread_mm=0.3)

    def make(n):
        return lambda: bw.tolerance(brace, draws=n, **ask)

    assert grows("draws with percentiles", "draws", [10_000, 100_000, 1_000_000], make) < 1.2


def test_readings(grows):
    brace = scene.brace()

    def make(n):
        span, load = np.resize([380.0, 250.0], n), np.resize([10.0, 20.0, 30.0], n)
        seen = load * np.where(span > 300, 0.05, 0.017) * (1 + 0.01 * np.sin(np.arange(n)))
        return lambda: bw.fit_readings(brace, span_mm=span, load_n=load, deflection_mm=seen, beam="section")

    assert grows("E and give from readings", "readings", [8, 80, 800, 8000], make) < 1.2


def test_length_of_a_resolved_brace(grows):
    """Unknowns go with the length; one elimination along the brace should cost in proportion."""

    def make(length):
        wood = bw.Wood.published("Sitka spruce")
        blank = bw.Blank(wood, length_mm=length, width_mm=8.0, height_mm=17.0)
        brace = bw.Brace(blank, bw.Profile.straight(length, height_mm=16.0))
        load, ends = [bw.Load(length / 2, 20.0)], [bw.Support.pad(20.0), bw.Support.pad(length - 20.0)]
        return lambda: brace.bend(load, supports=ends, at_mm=[length / 2])

    assert grows("a depth-resolved bend", "mm of brace", [200, 400, 800, 1600], make) < 1.3
