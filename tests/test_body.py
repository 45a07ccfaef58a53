"""The box at low frequency from Python, against scipy on matrices written here in SI, and figures that need the whole binding."""

import bracewright as bw
import numpy as np
import pytest

scipy_linalg = pytest.importorskip("scipy.linalg", reason="the independent solution is scipy's")

TAU = 2 * np.pi
TOP = {"frequency_hz": 160.0, "mass_g": 80.0, "area_cm2": 350.0, "q": 25.0}
BACK = {"frequency_hz": 225.0, "mass_g": 140.0, "area_cm2": 280.0, "q": 35.0}


@pytest.fixture(scope="module")
def air():
    return bw.BodyAir.round_hole(14.0, diameter_mm=100, edge_mm=2.8, u_volume_l=0.2, u_diameter_mm=0.5)


@pytest.fixture(scope="module")
def body(air):
    return bw.CoupledBody(air, bw.BodyPlate(**TOP), bw.BodyPlate(**BACK), q_air=30)


def matrices(air, plates, q_air, closed=False):
    """M, R and K of pistons on one cavity in kg, kg/s and N/m, from rho c^2 / V, with the hole's air between the plates."""
    spring = air.density_kg_m3 * air.speed_m_s**2 / (air.volume_l * 1e-3)
    hole = (air.hole_area_cm2 * 1e-4, air.hole_mass_g * 1e-3)
    helmholtz = np.sqrt(spring * hole[0] ** 2 / hole[1])
    rows = [(p["area_cm2"] * 1e-4, p["mass_g"] * 1e-3, TAU * p["frequency_hz"], p["q"]) for p in plates]
    if not closed:
        rows.insert(1, (*hole, 0.0, q_air))
    area, mass, w, q = np.array(rows).T
    damped_at = np.where(w > 0, w, helmholtz)
    return np.diag(mass), np.diag(damped_at * mass / q), np.diag(mass * w**2) + spring * np.outer(area, area), area


@pytest.mark.parametrize("plates", [[TOP], [TOP, BACK]])
@pytest.mark.parametrize("hole", ["open", "closed"])
def test_modes_beside_scipy(air, plates, hole):
    body = bw.CoupledBody(air, *(bw.BodyPlate(**p) for p in plates), q_air=30)
    m, r, k, area = matrices(air, plates, 30, closed=hole == "closed")
    squares, shapes = scipy_linalg.eigh(k, m)
    modes = body.modes(hole=hole)
    np.testing.assert_allclose([f.frequency_hz for f in modes], np.sqrt(squares) / TAU, rtol=1e-10)
    np.testing.assert_allclose(body.frequencies_hz(hole=hole), np.sqrt(squares) / TAU, rtol=1e-10)
    for mode, x in zip(modes, shapes.T, strict=True):
        swept = area * x
        swept = swept / swept[np.argmax(np.abs(swept))]
        swept = swept * (np.sign(swept[0]) or 1.0)
        found = [mode.top_volume] + [mode.air_volume] * (hole == "open") + [mode.back_volume] * (len(plates) > 1)
        np.testing.assert_allclose(found, swept, atol=1e-9)
        assert mode.net_volume == pytest.approx(swept.sum(), abs=1e-9)
        assert mode.modal_mass_g == pytest.approx(1e3 * (x @ m @ x) / x[0] ** 2, rel=1e-8)
        # damping to first order, and the whole quadratic problem beside it
        assert mode.q == pytest.approx(TAU * mode.frequency_hz * (x @ m @ x) / (x @ r @ x), rel=1e-9)
    n = len(m)
    poles = scipy_linalg.eigvals(
        np.block([[np.zeros((n, n)), np.eye(n)], [-scipy_linalg.solve(m, k), -scipy_linalg.solve(m, r)]])
    )
    poles = np.sort_complex(poles[poles.imag > 0] * -1j)
    np.testing.assert_allclose([f.frequency_hz for f in modes], np.sort(np.abs(poles)) / TAU, rtol=1e-4)
    by_size = poles[np.argsort(np.abs(poles))]
    np.testing.assert_allclose([f.q for f in modes], np.abs(by_size) / (2 * by_size.imag), rtol=0.01)


@pytest.mark.parametrize("hole", ["open", "closed"])
def test_mobility_beside_scipy(air, body, hole):
    hz = np.array([20.0, 97.0, 140.0, 185.0, 230.0, 700.0])
    m, r, k, _ = matrices(air, [TOP, BACK], 30, closed=hole == "closed")
    want = [(1j * w * scipy_linalg.inv(k + 1j * w * r - w * w * m))[0, 0] for w in TAU * hz]
    found = body.mobility(hz, hole=hole)
    np.testing.assert_allclose(found.re_s_per_kg + 1j * found.im_s_per_kg, want, rtol=1e-10)
    np.testing.assert_allclose(found.size_s_per_kg, np.abs(want), rtol=1e-10)


def test_handbook_air(air):
    """Dry air at 20 degrees C and one atmosphere: 1.204 kg/m3 and 343 m/s (handbooks); the box by c/(2 pi) sqrt(S / (V L))."""
    dry = bw.BodyAir(14.0, hole_area_cm2=78.5, edge_mm=3, rh_percent=0)
    assert dry.density_kg_m3 == pytest.approx(1.204, rel=1e-3) and dry.speed_m_s == pytest.approx(343.3, rel=1e-3)
    length = 2.8e-3 + 16 / (3 * np.pi) * 0.05
    assert air.helmholtz_hz == pytest.approx(air.speed_m_s / TAU * np.sqrt(np.pi * 0.05**2 / (14e-3 * length)), rel=1e-12)
    # u of the area of a round hole, 2 u(d) / d of it
    assert air.u_hole_area_cm2 == pytest.approx(air.hole_area_cm2 * 2 * 0.5 / 100, rel=1e-12)
    budget = air.helmholtz_budget()
    assert budget.lines[0].source == "end_radii" and budget.value == air.helmholtz_hz
    assert 0.02 < budget.u / budget.value < 0.05


def test_two_by_hand():
    """f_h^2 = f-^2 + f+^2 - f_c^2 and f_t = f- f+ / f_h (Christensen & Vandegrift 1980, from memory)."""
    found = bw.BodyTaps([98, 190], u_open_hz=0.2, closed_hz=168, u_closed_hz=0.2).identify()
    h = np.sqrt(98**2 + 190**2 - 168**2)
    t = 98 * 190 / h
    assert found.helmholtz_hz.value == pytest.approx(h, rel=1e-9) and found.top_hz.value == pytest.approx(t, rel=1e-9)
    assert found.air_share.value == pytest.approx(1 - (t / 168) ** 2, rel=1e-8)
    assert found.dof == 0 and found.chance is None and found.top_mass_g is None
    assert any("back's part" in w for w in found.not_told) and "not told" in str(found) and "Cautions" in str(found)
    # the interval by hand: normal, 95 %
    u = 0.2 * np.sqrt(98**2 + 190**2 + 168**2) / h
    assert found.helmholtz_hz.interval == pytest.approx((h - 1.959964 * u, h + 1.959964 * u), rel=1e-6)


def loaded(air, grams, hole):
    top = TOP | {"mass_g": TOP["mass_g"] + grams, "frequency_hz": TOP["frequency_hz"] * np.sqrt(80 / (80 + grams))}
    m, _, k, _ = matrices(air, [top, BACK], 30, closed=hole == "closed")
    return np.sqrt(scipy_linalg.eigvalsh(k, m)) / TAU


def test_three_from_frequencies_of_scipy(air):
    """Frequencies of an independent solver, 25 g at the bridge: the plates come back, and a table of all figures beside them."""
    taps = bw.BodyTaps(
        loaded(air, 0, "open"), u_open_hz=0.1, closed_hz=loaded(air, 0, "closed"), u_closed_hz=0.1, added_mass_g=25,
        open_with_mass_hz=loaded(air, 25, "open"), u_open_with_mass_hz=0.1,
        closed_with_mass_hz=loaded(air, 25, "closed"), u_closed_with_mass_hz=0.1,
    )  # fmt: skip
    found = taps.identify(air)
    assert found.top_is == "lower" and found.oscillators == 3 and found.dof == 4 and found.chi_squared < 1e-6
    assert found.widened == 1 and found.top_hz.value == pytest.approx(160, rel=1e-6)
    assert found.back_hz.value == pytest.approx(225, rel=1e-6)
    assert found.top_mass_g.value == pytest.approx(80, rel=1e-5)
    assert found.top_area_cm2.value == pytest.approx(350, rel=1e-5)
    assert found.back_area_per_root_g.value == pytest.approx(280 / np.sqrt(140), rel=1e-5)
    assert found.hole_length_mm.value == pytest.approx(air.hole_length_mm, rel=1e-5)
    body = found.body(q_top=25, q_air=30, q_back=35, back_mass_g=140)
    np.testing.assert_allclose(body.frequencies_hz(), loaded(air, 0, "open"), rtol=1e-6)
    assert [r.name for r in found.readings][:4] == ["open_hz[0]", "open_hz[1]", "open_hz[2]", "closed_hz[0]"]
    # the other plate named: it does not fit, and that is said
    other = taps.identify(air, top="higher")
    assert other.top_is == "higher" and other.chi_squared > 1000 and other.widened > 1 and "unlikely" in str(other)


@pytest.mark.parametrize("plates", [[TOP], [TOP, BACK]])
def test_damping_hardly_shows(air, plates):
    """What damped oscillators with a Q of 15 ring at, by scipy's quadratic problem, taken for natural frequencies."""

    def rings_hz(grams, closed):
        top = TOP | {"mass_g": 80 + grams, "frequency_hz": 160 * np.sqrt(80 / (80 + grams)), "q": 15 * np.sqrt(1 + grams / 80)}
        m, r, k, _ = matrices(air, [top, *({**p, "q": 15} for p in plates[1:])], 15, closed=closed)
        n = len(m)
        both = np.block([[np.zeros((n, n)), np.eye(n)], [-scipy_linalg.solve(m, k), -scipy_linalg.solve(m, r)]])
        poles = scipy_linalg.eigvals(both).imag
        return np.sort(poles[poles > 0]) / TAU

    natural = bw.CoupledBody(air, *(bw.BodyPlate(**p) for p in plates), q_air=15).frequencies_hz()
    fall = rings_hz(0, False) / natural - 1
    assert np.all((fall < 0) & (fall > -1e-3))
    found = bw.BodyTaps(
        rings_hz(0, False), u_open_hz=0.2, closed_hz=rings_hz(0, True), u_closed_hz=0.2, added_mass_g=20,
        open_with_mass_hz=rings_hz(20, False), u_open_with_mass_hz=0.2,
    ).identify(air)  # fmt: skip
    assert found.top_mass_g.value == pytest.approx(80, rel=2e-3) and found.top_area_cm2.value == pytest.approx(350, rel=2e-3)
    assert found.helmholtz_hz.value == pytest.approx(air.helmholtz_hz, rel=1e-3)


def test_misses_are_said_and_widen(air):
    hz = {hole: loaded(air, 0, hole) for hole in ("open", "closed")}
    heavy = loaded(air, 25, "open") + np.array([-0.9, 0.9, -0.9])
    taps = bw.BodyTaps(
        hz["open"], u_open_hz=0.05, closed_hz=hz["closed"], u_closed_hz=0.05, added_mass_g=25, open_with_mass_hz=heavy,
        u_open_with_mass_hz=0.05,
    )  # fmt: skip
    found = taps.identify(air)
    assert found.dof == 2 and found.chance < 0.05 and found.widened == pytest.approx(np.sqrt(found.chi_squared / 2))
    # Student's t for 2 degrees of freedom, 95 % (JCGM 100, Table G.2)
    assert found.top_hz.coverage_factor == pytest.approx(4.30, abs=0.005)
    assert "times as wide" in str(found) and "furthest off is" in str(found)


def test_a_looser_top(body):
    change = body.top_changed(stiffness_percent=-10)
    assert np.all(change.open_after_hz < change.open_before_hz)
    slopes = np.array([m.per_percent_stiffness for m in body.modes()])
    small = body.top_changed(stiffness_percent=-0.01)
    np.testing.assert_allclose(small.open_after_hz / small.open_before_hz - 1, -1e-4 * slopes, rtol=1e-3)
    assert change.after.top.stiffness_n_per_mm == pytest.approx(0.9 * body.top.stiffness_n_per_mm)
    assert "hole open:" in str(change) and "Cautions" in str(change)
    heavy = bw.BodyPlate(170, mass_g=70, area_cm2=314.159265, q=25).in_air(body.air)
    # 8/3 rho a^3 of a piston of 100 mm radius
    assert heavy.mass_g - 70 == pytest.approx(8 / 3 * body.air.density_kg_m3 * 0.1**3 * 1e3, rel=1e-6)


def test_taps_from_modes(sound):
    heard = bw.combined(bw.recording_modes(sound)).modes
    taps = bw.BodyTaps.from_modes(heard[:2])
    assert list(taps.open_hz) == [m.frequency_hz for m in heard[:2]]
    assert list(taps.u_open_hz) == [m.u_frequency_hz for m in heard[:2]]
    between = bw.BodyTaps.from_modes([heard[0], heard[2]], closed=[heard[1]])
    assert between.closed_hz[0] == heard[1].frequency_hz


def test_the_picture(body, air):
    matplotlib = pytest.importorskip("matplotlib", reason="plots need matplotlib")
    matplotlib.use("Agg")
    ax = body.plot()
    words = [t.get_text() for t in ax.texts]
    assert len(words) == 3 and all(f"{m.frequency_hz:.1f} Hz" in w for m, w in zip(body.modes(), words, strict=True))
    solid = ax.lines[0]
    hz, level = solid.get_data()
    # the level drawn is that of the mobility, and its highest point stands at a mode
    k = int(np.argmax(level))
    assert level[k] == pytest.approx(20 * np.log10(body.mobility([hz[k]]).size_s_per_kg[0]))
    assert min(abs(hz[k] / m.frequency_hz - 1) for m in body.modes()) < 0.02
    labels = ax.get_legend_handles_labels()[1]
    assert labels[:2] == ["hole open", "hole closed"] and any("rigid box" in w for w in labels)
    alone = bw.CoupledBody(air, bw.BodyPlate(**TOP), q_air=30).plot(ax=matplotlib.pyplot.figure().subplots())
    assert len(alone.texts) == 2
    matplotlib.pyplot.close("all")
