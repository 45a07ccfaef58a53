"""The worked example of deciding a pass, from Python.

Source: project brief, section 5, worked example, computed there by quadrature; the strip is the brief's own (section 3.6,
bending only), integrated in this file by Gauss-Legendre. Tolerance: half a unit of the last digit printed, plus a twentieth
of it for the finite number of draws. Standing of the figures: recomputed, a second time by tensor quadrature in numpy (301 x
301 points, 11 for each removal); all agree with the brief as printed but one, named where it stands. The same figures are
held in Rust in advice_published.rs.
"""

import math
import statistics

import bracewright as bw
import numpy as np
import pytest

DRAWN = 0.05


def printed(found, expected, digit):
    assert abs(found - expected) <= (0.5 + DRAWN) * digit, f"found {found}, the brief prints {expected}"


def blend(t):
    return 0.5 - 0.5 * np.cos(math.pi * np.clip(t, 0, 1))


def strip_stiffness(e_gpa, depth_mm):
    """N/mm of plate and brace at mid-span, simply supported over 400 mm."""
    nodes, weights = np.polynomial.legendre.leggauss(24)
    e_plate, b_e, t, w, e = 1450.0, 60.0, 2.8, 8.0, 1000.0 * e_gpa
    flexibility = 0.0
    for a, b in ((0, 60), (60, 80), (80, 200)):
        x = 0.5 * (a + b) + 0.5 * (b - a) * nodes
        h = 3.0 + 14.0 * blend(x / 60) - depth_mm * blend(x / 80)
        a1, a2, d = e_plate * b_e * t, e * w * h, 0.5 * (t + h)
        ei = e_plate * b_e * t**3 / 12 + e * w * h**3 / 12 + a1 * a2 / (a1 + a2) * d**2
        flexibility += np.sum(0.5 * (b - a) * weights * (0.5 * x) ** 2 / ei)
    return 1 / (2 * flexibility)


@pytest.fixture(scope="module")
def table():
    e = 4.5 * 6 ** (np.arange(21) / 20)
    depth = np.arange(-6, 9.01, 0.5)
    k = [[strip_stiffness(a, d) for d in depth] for a in e]
    return bw.StiffnessTable(e_gpa=e, depth_mm=depth, stiffness_n_per_mm=k, load_n=20, second="rest stiffness")


@pytest.fixture(scope="module")
def states():
    dial = bw.Gauge(repeat_mm=0.006, reseat_mm=0.004, resolution_mm=0.0, readings_per_seat=3)
    printed(dial.u_mm, 0.0053, 1e-4)
    prior = bw.Belief(
        e_gpa=bw.Unknown.log_normal(median=11.5, sd_ln=0.12),
        second=bw.Unknown.log_normal(median=18.0, sd_ln=0.25),
        hand=bw.Hand(bias_fraction=0.0, scatter_fraction=0.10, scatter_mm=0.10),
    )
    s0 = prior.after_reading(0.3789, gauge=dial)
    s1 = s0.after_pass(2.52, measured_mm=[(2.28, 0.05)]).after_reading(0.4792, gauge=dial)
    s2 = s1.after_pass(0.73, measured_mm=[(0.72, 0.05)]).after_reading(0.5146, gauge=dial)
    assert [len(s) for s in (prior, s0, s1, s2)] == [0, 1, 3, 5]
    return prior, s0, s1, s2


WINDOW = bw.Window(0.50, 0.54, target_mm=0.52)


@pytest.mark.parametrize(
    "e, k, d, expected", [(10, 15, 0, 0.3742), (10, 15, 2.28, 0.4762), (10, 15, 3.0, 0.5141), (11.5, 18, 0, 0.3319)]
)
def test_check_deflections(table, e, k, d, expected):
    printed(20 / (strip_stiffness(e, d) + k), expected, 1e-4)
    printed(table.deflection_mm(e_gpa=e, second=k, depth_mm=d), expected, 1e-4)


@pytest.mark.parametrize(
    "state, deflection, digit, e, rest",
    [
        (0, (0.331, 0.031), 1e-3, (11.58, 1.39), (18.6, 4.7)),
        # the brief prints 2.2 for the last figure; the quadrature made for this test gives 2.147
        (1, (0.3776, 0.0052), 1e-4, (10.29, 0.84), (13.8, 2.147)),
        (2, (0.4803, 0.0048), 1e-4, (10.08, 0.71), (14.5, 1.5)),
        (3, (0.5162, 0.0042), 1e-4, (9.91, 0.64), (15.0, 1.2)),
    ],
)
def test_beliefs(table, states, state, deflection, digit, e, rest):
    p = states[state].posterior(table)
    for found, expected, unit in (
        (p.deflection_mm, deflection, digit),
        (p.e_gpa, e, 0.01),
        (p.second, rest, 0.1),
    ):
        printed(found.mean, expected[0], unit)
        printed(found.sd, expected[1], unit)
    if state == 0:
        printed(p.deflection_mm.q05, 0.280, 1e-3)
        printed(p.deflection_mm.q95, 0.384, 1e-3)
    else:
        assert -0.965 < p.correlation < -0.935


def test_what_the_passes_took(table, states):
    for aim, calliper, mean, sd in ((2.52, 2.28, 2.288, 0.049), (0.73, 0.72, 0.721, 0.046)):
        taken = states[0].after_pass(aim, measured_mm=[(calliper, 0.05)]).linear(table).depth_mm
        printed(taken.mean, mean, 1e-3)
        printed(taken.sd, sd, 1e-3)


@pytest.mark.parametrize(
    "state, straight, over, digit, inside, deepest, linear",
    [
        (1, 2.92, 0.19, 0.01, 0.42, (2.37, 2.44, 2.52, 2.65, 2.77), 2.63),
        (2, 0.74, 0.023, 0.001, 0.96, (0.65, 0.69, 0.73, 0.80, 0.86), 0.77),
    ],
)
def test_decisions(table, states, state, straight, over, digit, inside, deepest, linear):
    for alpha, expected in zip((0.005, 0.01, 0.02, 0.05, 0.1), deepest, strict=True):
        advice = states[state].advise(table, WINDOW, bw.Rule(alpha=alpha, deepest_mm=9))
        printed(advice.d_max_mm, expected, 0.01)
    advice = states[state].advise(table, WINDOW, bw.Rule(alpha=0.02, deepest_mm=9))
    assert advice.kind == "carve" and advice.reason == "held by the allowed chance"
    printed(advice.depth_mm, deepest[2], 0.01)
    printed(advice.straight_at_target_mm, straight, 0.01)
    printed(advice.chance_over_straight, over, digit)
    printed(advice.chance_over, 0.02, 1e-5)
    printed(advice.chance_in_window, inside, 0.01)
    printed(advice.d_max_closed_form, linear, 0.01)
    assert advice.allowed_mm == advice.depth_mm
    assert advice.text.startswith(f"Carve {deepest[2]} mm. Chance of going past 0.540 mm: 2.0 %")
    assert "go together" in advice.known


def test_it_stops_in_the_window(table, states):
    advice = states[3].advise(table, WINDOW, bw.Rule(alpha=0.02, deepest_mm=9))
    assert advice.kind == "stop" and advice.reason == "in the window" and advice.depth_mm == 0
    assert advice.chance_over < 0.005 and advice.chance_in_window > 0.995
    assert states[3].chance_between(table, low_mm=0.50, high_mm=0.54) > 0.995  # the brief prints 1.00


def test_one_pass_takes_no_more_than_its_cap(table, states):
    advice = states[1].advise(table, WINDOW, bw.Rule(alpha=0.02, deepest_mm=9, deepest_pass_mm=1.0))
    assert advice.reason == "held by the deepest cut of one pass" and advice.depth_mm == 1.0
    printed(advice.allowed_mm, 2.52, 0.01)
    printed(advice.d_max_mm, 2.52, 0.01)
    assert "In all 2.52 mm may come off, more than one pass takes" in advice.text


@pytest.mark.parametrize(
    "g, s, r, rows",
    [
        (0.1097, 0.0139, 0.3577, (2.50, 2.56, 2.63, 2.74, 2.84)),
        (0.1078, 0.0100, 0.1173, (0.69, 0.73, 0.77, 0.83, 0.88)),
    ],
)
def test_closed_form_rows(g, s, r, rows):
    for alpha, expected in zip((0.005, 0.01, 0.02, 0.05, 0.1), rows, strict=True):
        z = statistics.NormalDist().inv_cdf(1 - alpha)
        d = bw.d_max_closed_form(r=r, z=z, eps=0.1, s=s, g_per_mm=g, eta_mm=0.1)
        # g is printed rounded
        assert abs(d - expected) <= 0.0055
        # it solves the equation it came from
        assert g * d + z * math.sqrt(s * s + g * g * (0.01 * d * d + 0.01)) == pytest.approx(r, abs=1e-12)
    assert bw.d_max_closed_form(r=0.01, z=2.05, eps=0.1, s=0.02, g_per_mm=0.11, eta_mm=0.1) == 0
    assert bw.d_max_closed_form(r=0.3, z=2.05, eps=0.5, s=0.01, g_per_mm=0.11, eta_mm=0.1) is None


def test_the_chance_that_balances_costs():
    # critical fractile: c_short / (c_short + c_over)
    assert bw.alpha_from_costs(cost_short=20, cost_over=180) == pytest.approx(0.1)


def test_the_law_of_the_hand():
    hand = bw.Hand(bias_fraction=0.05, scatter_fraction=0.1, scatter_mm=0.1)
    assert hand.mean_mm(2) == pytest.approx(2.1) and hand.sd_mm(2) == pytest.approx(math.hypot(0.2, 0.1))
