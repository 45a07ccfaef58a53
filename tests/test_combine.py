"""Combining, from Python: figures of the guide (JCGM 100) and scipy as the reference library."""

import bracewright as bw
import numpy as np
import pytest


def test_coverage_factors_are_those_of_scipy():
    stats = pytest.importorskip("scipy.stats", reason="scipy is the reference for Student's t")
    for coverage in (0.5, 0.6827, 0.9, 0.95, 0.9973):
        for dof in (1, 2, 4.5, 9, 30, 500):
            assert bw.coverage_factor(coverage, dof=dof) == pytest.approx(stats.t.ppf(0.5 + coverage / 2, dof), rel=1e-8)
        assert bw.coverage_factor(coverage) == pytest.approx(stats.norm.ppf(0.5 + coverage / 2), rel=1e-8)


def test_end_gauge_of_the_guide():
    """JCGM 100 H.1, Table H.1 (from memory): 25, 9.7, 2.9 and 16.6 nm; u 32 nm, 16 degrees of freedom, U_99 = 93 nm."""
    lines = [
        bw.BudgetLine("standard", u=25, dof=18),
        bw.BudgetLine("difference", u=9.7, dof=25.6, evaluation="A"),
        bw.BudgetLine("expansion", u=2.9, dof=50),
        bw.BudgetLine("temperature", u=16.6, dof=2),
    ]
    budget = bw.Budget(50_000_838.0, lines, coverage=0.99, unit="nm")
    assert budget.u == pytest.approx(32, abs=0.5) and int(budget.dof) == 16
    assert budget.coverage_factor == pytest.approx(2.92, abs=0.005) and budget.expanded == pytest.approx(93, abs=1)
    assert budget.sentence().endswith("nm (k = 2.92, 99 % coverage)")
    assert list(budget.to_pandas()["contribution"]) == [25, 16.6, 9.7, 2.9]


def test_a_bad_reading_is_named_and_both_answers_stand():
    seats = [[0.801, 0.802, 0.800, 0.801], [0.806, 0.807, 0.806, 0.895], [0.803, 0.803, 0.804, 0.803]]
    found = bw.repeated(seats, resolution=0.001, unit="mm")
    assert [(s.seat, s.index, s.value) for s in found.suspects] == [(1, 3, 0.895)]
    assert found.with_all.value == pytest.approx(np.mean([np.mean(s) for s in seats]))
    seats[1].pop()
    clean = bw.repeated(seats, resolution=0.001, unit="mm")
    assert found.without_suspects == clean.with_all and not clean.suspects
    assert any("reading 4 of seat 2, 0.895" in w for w in found.words)
    assert bw.repeated(np.array(seats[0]), resolution=0.001).with_all.value == pytest.approx(0.801)


def test_nested_readings_as_a_nested_analysis_of_variance_has_them():
    """Balanced: scipy's one-way F is the ratio of the two mean squares."""
    stats = pytest.importorskip("scipy.stats", reason="scipy is the reference for the analysis of variance")
    rng = np.random.default_rng(4)
    seats = 0.8 + 0.01 * rng.normal(size=(6, 1)) + 0.005 * rng.normal(size=(6, 4))
    found = bw.repeated(seats)
    f = stats.f_oneway(*seats).statistic
    assert 4 * found.seat_sd**2 / found.repeat_sd**2 + 1 == pytest.approx(f, rel=1e-9)
    assert found.with_all.dof == pytest.approx(5)


def test_methods_fused_say_where_they_disagree():
    bend, tap = bw.Method("bend", 11.0, u=0.15), bw.Method("tap", 12.32, u=0.10)
    found = bw.fuse([bend, tap], enlarge=True)
    assert found.enlarged and found.birge_ratio > 5
    assert found.pairs[0].words.startswith("the tap says 12.0 % more than the bend, 3.7 times what both uncertainties allow")
    closer = bw.fuse([bend, tap.over(1.1, u_ratio=0.02, source="own sticks")])
    assert closer.pairs[0].e_n < 1 and not closer.enlarged


def test_generalised_least_squares_is_numpys():
    rng = np.random.default_rng(1)
    v, u = np.array([10.0, 10.6, 9.7, 10.2]), np.array([0.2, 0.3, 0.25, 0.1])
    a = rng.normal(size=(4, 6))
    r = a @ a.T
    r /= np.sqrt(np.outer(np.diag(r), np.diag(r)))
    found = bw.fuse([bw.Method(f"m{i}", v[i], u=u[i]) for i in range(4)], correlation=r)
    inverse = np.linalg.inv(r * np.outer(u, u))
    value = (inverse @ v).sum() / inverse.sum()
    assert found.value == pytest.approx(value, rel=1e-10) and found.u == pytest.approx(inverse.sum() ** -0.5, rel=1e-10)
    assert found.chi_squared == pytest.approx((v - value) @ inverse @ (v - value), rel=1e-8)


def test_a_reference_climate(wood):
    air = bw.Climate.of_air(temperature_c=21.1, rh_percent=65, u_rh_percent=0, u_temperature_c=0)
    # checks.csv row W-EMC-21.1-65, recomputed 5 digits
    assert air.mc_percent == pytest.approx(11.9585, abs=5e-4) and air.u_mc_percent == pytest.approx(0.6)
    wet = bw.to_reference(wood, 10.0, what="modulus along", u=0.1, climate=bw.Climate(14.0), unit="GPa")
    assert wet.factor == pytest.approx(np.exp(0.016 * 2), rel=1e-9) and "GPa" in wet.words
    assert {line.source.split(" of")[0] for line in wet.budget.lines} >= {"reading", "moisture content"}


def test_stock_at_rest_not_yet_and_unknown():
    days = np.arange(9.0)
    mass = 400 + 6 * np.exp(-days / 5)
    done, early = bw.rest(days, mass, u_scale_g=0.005), bw.rest(days[:4], mass[:4], u_scale_g=0.005)
    assert (done.answer, early.answer) == ("at rest", "not yet")
    assert early.days_until_rest_90[0] <= 5 * np.log(1.2 / 0.4017) - 3 <= early.days_until_rest_90[1]
    kitchen = bw.rest(days[:4], np.round(mass[:4] / 2) * 2, u_scale_g=0.6)
    assert kitchen.answer == "cannot tell" and kitchen.weigh_again_days > 0 and "weigh again" in kitchen.words[0]


def test_weighings_are_read_and_tell_of_rest(tmp_path, capsys):
    from importlib.resources import as_file, files

    from bracewright.__main__ import main

    with as_file(files("bracewright") / "demo" / "weighings.csv") as path:
        pieces = {p.name: p for p in bw.read_weighings(path)}
        assert main(["rest", str(path), "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert {n: (len(p.days), p.step_g, p.from_date) for n, p in pieces.items()} == {
        "brace stock": (7, 0.01, "2026-03-02"), "top halves": (6, 0.01, "2026-03-02"), "bridge blank": (4, 0.1, "2026-03-02"),
    }  # fmt: skip
    for words in ("brace stock: at rest", "top halves: not yet", "bridge blank: cannot tell", "limit 0.1 %", "again 2026-0"):
        assert words in said, words
    # made as 372 + 9 exp(-t/6) g (its first line): 0.1 % a day at 6 ln(1.5/0.375) days, by the closed form 8.3 days from 2 March
    assert "to expect at rest 2026-03-10" in said or "to expect at rest 2026-03-11" in said
    table = (tmp_path / "rest.csv").read_text(encoding="utf-8").splitlines()
    assert len(table) == 4 and table[0].startswith("name,answer,chance_at_rest")
    assert main(["rest", str(path), "--limit", "1", "--scale", "0,05"]) == 0
    assert "top halves: at rest" in capsys.readouterr().out
    assert main(["rest", str(path), "--scale", "fine"]) == 2 and "--scale" in capsys.readouterr().err
    assert main(["rest", str(path), "--limit", "low"]) == 2 and "--limit" in capsys.readouterr().err
    assert main(["rest", str(tmp_path / "none.csv")]) == 2


@pytest.mark.parametrize(
    "text, words",
    [
        ("mass [g]\n400\n", "no column date or days"),
        ("date,mass [g]\n2026-02-30,400\n", "line 2.*no date"),
        ("days,mass [g]\n0,400\n0,399\n", "line 3.*order of time"),
        ("days,mass [g]\n0,0\n", "above 0 g"),
        ("days,mass [g]\n0,nan\n", "line 2"),
    ],
)
def test_a_bad_table_of_weighings_gets_a_sentence(tmp_path, text, words):
    path = tmp_path / "weighings.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(bw.ReadingsError, match=words):
        bw.read_weighings(path)


def test_the_water_of_a_glue_up():
    found = bw.glue_water(2.0, area_mm2=8000, first_mm=5, second_mm=5, diffusion_mm2_per_day=8.64)
    # (4 / pi) sum of the first terms, closed form of Fick's law for a source in the middle of a slab
    t = np.array([0.3, 1.0, 3.0])
    n = np.arange(0, 40)[:, None]
    series = 4 / np.pi * ((-1.0) ** n / (2 * n + 1) * np.exp(-((2 * n + 1) ** 2) * t)).sum(0)
    np.testing.assert_allclose([found.left_after(x * found.time_constant_days) for x in t], series, rtol=1e-9)
    assert any("recalled" in w for w in bw.glue_water(2.0, area_mm2=8000, first_mm=5, second_mm=5).words)
