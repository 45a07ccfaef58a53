"""Laws of taps and stock that hold whatever the figures."""

import bracewright as bw
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

WOOD = bw.Wood.published("Sitka spruce")


@settings(max_examples=25, deadline=None)
@given(
    e=st.floats(6, 18), length=st.floats(250, 600), width=st.floats(5, 12), height=st.floats(8, 20), density=st.floats(330, 520)
)
def test_a_stick_gives_its_own_modulus_back(e, length, width, height, density):
    size = {"length_mm": length, "width_mm": width, "height_mm": height, "mass_g": density * length * width * height * 1e-6}
    hz = bw.StickTap(bw.Blank(WOOD, **size, modulus_gpa=e, modulus_spread=0.01), "flat").expected_hz(1)[0]
    tap = bw.StickTap(bw.Blank(WOOD, **size), "flat")
    found = tap.modulus(bw.TapReading(hz, u_hz=0.1))
    assert found.modulus_gpa == pytest.approx(e, rel=1e-6)
    # E goes with the square of the frequency, whatever the stick
    assert tap.modulus(bw.TapReading(1.1 * hz, u_hz=0.1)).modulus_gpa == pytest.approx(1.21 * e, rel=1e-6)
    # a frequency read worse is an E known worse
    assert tap.modulus(bw.TapReading(hz, u_hz=5.0)).u_gpa > found.u_gpa


@settings(max_examples=50, deadline=None)
@given(e=st.lists(st.floats(8, 14), min_size=2, max_size=30, unique=True), exponent=st.floats(1, 4), seed=st.integers(0, 99))
def test_the_order_on_the_table_does_not_matter(e, exponent, seed):
    table = [bw.StockBlank(f"{k}", modulus_gpa=v, u_gpa=0.02 * v, density_kg_m3=400) for k, v in enumerate(e)]
    other = [table[k] for k in np.random.default_rng(seed).permutation(len(table))]
    a, b = bw.best_pairs(table, exponent=exponent), bw.best_pairs(other, exponent=exponent)
    assert sum(p.mismatch_percent for p in a.pairs) == pytest.approx(sum(p.mismatch_percent for p in b.pairs), abs=1e-9)
    assert all(p.height_ratio >= 1 and p.mismatch_percent >= 0 for p in a.pairs)
    assert len(a.pairs) == len(e) // 2 and len(a.left_over) == len(e) % 2
    one, two = bw.stock_priors(table)[0].modulus_gpa, bw.stock_priors(other)[0].modulus_gpa
    assert one.median == pytest.approx(two.median) and one.spread == pytest.approx(two.spread, abs=1e-9)
    assert min(e) * (1 - 1e-12) <= one.median <= max(e) * (1 + 1e-12) and one.spread <= one.seen_spread + 1e-12


@settings(max_examples=40, deadline=None)
@given(needed=st.integers(1, 60), reject=st.floats(0, 0.9), sure=st.floats(0.5, 0.999))
def test_more_spares_for_worse_wood_and_surer_minds(needed, reject, sure):
    n = bw.blanks_to_buy(needed, reject_chance=reject, confidence=sure)
    assert n >= needed
    assert bw.blanks_to_buy(needed, reject_chance=min(0.95, reject + 0.05), confidence=sure) >= n
    assert bw.blanks_to_buy(needed + 1, reject_chance=reject, confidence=sure) > n
