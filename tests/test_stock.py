"""A delivery from Python: read from a table, graded, paired, and what it says of the next stick."""

import math

import bracewright as bw
import numpy as np
import pytest
from bracewright.__main__ import main

HEAD = "name,modulus [GPa],u_modulus [GPa],density [kg/m3],u_density [kg/m3]\n"


def blank(name, e, **more):
    return bw.StockBlank(name, **{"modulus_gpa": e, "u_gpa": 0.1, "density_kg_m3": 420, "u_density_kg_m3": 2, **more})


def test_a_delivery_is_read_in_the_shop_s_own_hand(tmp_path, wood):
    path = tmp_path / "delivery.csv"
    path.write_text(
        "name;lot;length [mm];width [in];height [mm];mass [g];frequency [Hz];run-out;ring angle [deg];loss factor\n"
        "7;a;500;5/16;16,0;26,3;345,2;1/20;4;0,0081\n8;a;500;5/16;16,0;26,3;345,2;;;\n",
        encoding="utf-8",
    )
    read = bw.read_stock(path, wood=wood)
    assert (read[0].run_out, read[0].ring_angle_deg, read[0].loss_factor) == (0.05, 4, 0.0081)
    assert (read[1].run_out, read[1].ring_angle_deg, read[1].loss_factor) == (None, None, None)
    b = bw.Blank(wood, length_mm=500, width_mm=7.9375, height_mm=16, mass_g=26.3)
    want = bw.StickTap(b).modulus(bw.TapReading(345.2, u_hz=0.5))
    assert (read[1].modulus_gpa, read[1].u_gpa) == (want.modulus_gpa, want.u_gpa)
    assert read[1].density_kg_m3 == b.density_kg_m3 and read[0].modulus_gpa > read[1].modulus_gpa  # slope costs stiffness
    # tapped flat half that frequency means the same E but for (height/width)^2 / 4 and the shear (slender bar, closed form)
    path.write_text(path.read_text(encoding="utf-8").replace("345,2", "172,6"), encoding="utf-8")
    flat = bw.read_stock(path, wood=wood, bending="flat")[0].modulus_gpa
    assert flat == pytest.approx(read[0].modulus_gpa * (16 / 7.9375) ** 2 / 4, rel=0.05)


def test_what_cannot_be_graded_is_left_out(tmp_path, wood):
    path = tmp_path / "delivery.csv"
    head = "name;length [mm];width [mm];height [mm];mass [g];frequency [Hz]\n"
    good, bare = "1;500;8;16;26,3;345,2\n", "2;500;8;16;26,3;\n"
    slip, swapped = "3;500;8;16;26,3;34,5\n", "4;500;16;8;26,3;345,2\n"
    path.write_text(head + good + bare + slip + swapped, encoding="utf-8")
    delivery = bw.read_delivery(path, wood=wood)
    assert [b.name for b in delivery.blanks] == ["1"] and [s.line for s in delivery.set_aside] == [3, 4, 5]
    for aside, words in zip(delivery.set_aside, ("neither a modulus", "34.5 Hz", "width and height"), strict=True):
        assert words in aside.problem, aside.problem
    with pytest.raises(bw.ReadingsError, match="line 3"):
        bw.read_stock(path, wood=wood)
    path.write_text(head + bare, encoding="utf-8")
    with pytest.raises(bw.ReadingsError, match="neither a modulus"):
        bw.read_stock(path, wood=wood)
    # the same slip told by the tap itself
    stick = bw.Blank(wood, length_mm=500, width_mm=8, height_mm=16, mass_g=26.3)
    assert bw.StickTap(stick).modulus(bw.TapReading(34.5, u_hz=0.5)).over_wood < 0.3
    assert "times the" in bw.StickTap(stick).modulus(bw.TapReading(34.5, u_hz=0.5)).words
    assert "times the" not in bw.StickTap(stick).modulus(bw.TapReading(345.2, u_hz=0.5)).words


def test_a_slope_is_no_angle():
    for bad in (15, 0.6):
        with pytest.raises(bw.InvalidInputError, match="slope, rise over length"):
            bw.grade([blank("1", 11.0)], run_out=bad)


@pytest.mark.parametrize(
    "text, words",
    [
        ("", "empty"),
        (HEAD, "no rows"),
        ("name,modulus_gpa\n1,11\n", "u_modulus_gpa"),
        (HEAD + "1,11,0.1,,\n", "neither a density"),
        (HEAD + "1,,,400,2\n", "neither a modulus"),
        (HEAD + ",11,0.1,400,2\n", "needs a name"),
        (HEAD + "1,-11,0.1,400,2\n", "above 0 GPa"),
        (HEAD + "1,nan,0.1,400,2\n", "line 2"),
        (HEAD + "1,1100,0.1,400,2\n", "from 0.1 to 100 GPa"),
        (HEAD + "1,11,0.1,400,2\n1,12,0.1,400,2\n", "two blanks called"),
        ("name,species,length_mm,width_mm,height_mm,mass_g,frequency_hz\n1,Stika,500,8,16,26,345\n", "Sitka spruce"),
        ("name,length_mm,width_mm,height_mm,mass_g,frequency_hz\n1,500,8,16,26,345\n", "species"),
    ],
)
def test_a_bad_delivery_gets_a_sentence(tmp_path, text, words):
    path = tmp_path / "delivery.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises((bw.ReadingsError, bw.InvalidInputError), match=words):
        bw.read_stock(path)


def test_one_blank_does_not_hold_up_the_others(tmp_path):
    """One not tapped, one with 37 Hz for 374, one with width and height changed over: set aside in words; E goes with f^2."""
    path = tmp_path / "delivery.csv"
    size = "499,8.1,16.95,26.94"
    path.write_text(
        "name,species,length_mm,width_mm,height_mm,mass_g,frequency_hz\n"
        f"1,Sitka spruce,{size},370\n2,Sitka spruce,{size},\n3,Sitka spruce,{size},37\n"
        "4,Sitka spruce,499,16.95,8.1,26.94,370\n5,Sitka spruce,499,8.1,16.95,26.94,374\n",
        encoding="utf-8",
    )
    found = bw.read_delivery(path)
    assert [b.name for b in found.blanks] == ["1", "5"]
    assert [(s.name, s.line) for s in found.set_aside] == [("2", 3), ("3", 4), ("4", 5)]
    assert found.words[0].startswith("2 (line 3) is set aside: has neither a modulus nor a tapped frequency")
    e = found.blanks[0].modulus_gpa
    assert f"37 Hz makes E {e / 100:.3f} GPa" in found.words[1] and f"370 Hz would make it {e:.1f} GPa" in found.words[1]
    assert f"width and height changed over, or tapped the other way, it would be {e:.1f} GPa" in found.words[2]
    with pytest.raises(bw.ReadingsError, match='line 3, blank "2"'):
        bw.read_stock(path)
    assert len(bw.grade(found.blanks, lowest_modulus_gpa=9)) == 2


def test_what_goes_back_says_why():
    good = blank("a", 11.0, run_out=0.02, ring_angle_deg=5, loss_factor=0.008)
    bad = blank("b", 9.0, run_out=-0.1, ring_angle_deg=160, density_kg_m3=470, loss_factor=0.02)
    graded = bw.grade(
        [good, bad, blank("unread", 11.0)], run_out=1 / 15, ring_angle_deg="15 deg", highest_density_kg_m3=460,
        lowest_modulus_gpa=9.5, loss_factor=0.01,
    )  # fmt: skip
    assert graded[0].reasons == graded[2].reasons == []
    assert graded[1].reasons == [
        "run-out 1 in 10, steeper than 1 in 15", "rings off upright by 20 deg, over 15 deg", "density 470 kg/m3, over 460 kg/m3",
        "E 9 GPa, under 9.5 GPa", "loss factor 0.02, over 0.01",
    ]  # fmt: skip
    assert graded[0].specific_modulus == pytest.approx(11 / 0.42)


def test_pairs_heights_and_spares():
    sticks = [blank(n, e) for n, e in zip("abcdef", (10.0, 12.0, 10.1, 11.0, 12.3, 11.05), strict=True)]
    found = bw.best_pairs(sticks, exponent=2.25)
    assert {(p.stiffer, p.softer) for p in found.pairs} == {("c", "a"), ("f", "d"), ("e", "b")} and found.left_over == []
    for p in found.pairs:
        stiff, soft = (next(s.modulus_gpa for s in sticks if s.name == n) for n in (p.stiffer, p.softer))
        # E h^n of both legs alike (closed form)
        assert soft * p.height_ratio**2.25 == pytest.approx(stiff)
        assert p.mismatch_percent == pytest.approx(100 * math.log(stiff / soft))
        assert p.u_percent == pytest.approx(100 * math.hypot(0.1 / stiff, 0.1 / soft))
    assert len(bw.best_pairs(sticks, exponent=3, pairs=1).left_over) == 4
    # EI of a rectangle goes with the cube (closed form); glued the same difference asks for more
    assert bw.height_ratio(9.5 / 12, exponent=3) == pytest.approx((12 / 9.5) ** (1 / 3))
    assert bw.height_ratio(9.5 / 12, exponent=2.25) > bw.height_ratio(9.5 / 12, exponent=3)

    def chance(n, needed, reject):  # the binomial law summed term by term
        return sum(math.comb(n, k) * reject**k * (1 - reject) ** (n - k) for k in range(n - needed + 1))

    for needed, reject, sure in ((2, 0.3, 0.95), (20, 0.15, 0.9), (6, 0.5, 0.99)):
        n = bw.blanks_to_buy(needed, reject_chance=reject, confidence=sure)
        assert chance(n, needed, reject) >= sure > chance(n - 1, needed, reject)


def test_a_lot_by_the_analysis_of_variance():
    """Equal uncertainties: tau^2 = s^2 - u^2, u(middle)^2 = s^2/n, and the next stick by Student's variance (closed forms)."""
    e, u = np.array([10.2, 11.1, 12.4, 11.7, 10.9, 13.0, 11.4]), 0.03
    lot = [blank(str(k), v, u_gpa=u * v, lot="a", species="s") for k, v in enumerate(e)]
    for of, name in (("lot", "a"), ("species", "s"), ("all", "all")):
        (prior,) = bw.stock_priors(lot, of=of)
        assert prior.of == name
        m, s2 = prior.modulus_gpa, np.log(e).var(ddof=1)
        assert m.median == pytest.approx(np.exp(np.log(e).mean()))
        assert m.spread == pytest.approx(math.sqrt(s2 - u * u)) and m.seen_spread == pytest.approx(math.sqrt(s2))
        assert m.u_median / m.median == pytest.approx(math.sqrt(s2 / 7))
        sd = math.sqrt((s2 - u * u + s2 / 7) * 6 / 4)
        assert repr(m.next_stick()) == repr(bw.Unknown.log_normal(median=m.median, sd_ln=sd))
        assert prior.loss_factor is None and prior.density_kg_m3.spread == 0.0
    with pytest.raises(bw.FitError, match="4 or more"):
        bw.stock_priors(lot[:3])[0].modulus_gpa.next_stick()


def test_a_lot_is_the_prior_of_its_next_stick(wood, rig):
    rng = np.random.default_rng(5)
    lot = [blank(str(k), 11.8 * math.exp(0.08 * z), density_kg_m3=405) for k, z in enumerate(rng.normal(size=24))]
    (prior,) = bw.stock_priors(lot)
    factor = bw.DynamicOverStatic(1.06, u_ratio=0.0212)
    of_lot = prior.wood(wood, factor=factor)
    size = {"length_mm": 420, "width_mm": 8, "height_mm": 17}
    before = bw.Blank(of_lot, **size)
    assert before.modulus_gpa == pytest.approx(prior.modulus_gpa.median / 1.06) and before.density_kg_m3 == pytest.approx(405)
    assert 0.06 < before.modulus_spread < bw.Blank(wood, **size).modulus_spread / 2
    # a poor reading counts for less against the narrower belief
    reading = rig.reading(rig.expected(bw.Brace.uncarved(before)).deflection_mm * 1.1, u_mm=0.05)
    assert before.learn(reading).modulus_gpa > bw.Blank(wood, **size).learn(reading).modulus_gpa
    belief = bw.Belief(e_gpa=prior.modulus_gpa.next_stick(), second=bw.Unknown.known(0.0), hand=bw.Hand())
    assert belief == belief


def test_a_blank_goes_on_the_table(blank):  # the fixture of conftest
    b = bw.StockBlank.of("left 1", blank, loss_factor=0.008)
    assert (b.modulus_gpa, b.density_kg_m3) == (blank.modulus_gpa, blank.density_kg_m3)
    assert b.u_gpa == pytest.approx(blank.modulus_gpa * blank.modulus_spread) and b.species == "Sitka spruce"


def test_pictures_of_a_delivery():
    sticks = [blank(f"{k}", 10 + 0.2 * k, density_kg_m3=380 + 5 * k) for k in range(10)]
    graded = bw.grade(sticks, lowest_modulus_gpa=10.5)
    kept = [s for s, g in zip(sticks, graded, strict=True) if not g.reasons]
    pairing = bw.best_pairs(kept, exponent=2.25)
    svg = bw.stock_svg(sticks, graded, pairing=pairing, lowest_modulus_gpa=10.5)
    assert "7 of 10 blanks are kept, 3 go back; 3 pairs." in svg
    pytest.importorskip("matplotlib", reason="the picture is drawn with matplotlib").use("Agg")
    from bracewright.plots import plot_stock

    ax = plot_stock(sticks, graded, pairing)
    assert "kg/m" in ax.get_xlabel() and "GPa" in ax.get_ylabel()
    said = {t.get_text() for t in ax.get_legend().get_texts()}
    assert said == {"a pair of legs", "kept (7)", "goes back (3)", "one standard uncertainty"}


def test_the_command(tmp_path, capsys):
    from importlib.resources import as_file, files

    with as_file(files("bracewright") / "demo" / "delivery.csv") as path:
        assert main(["stock", str(path), "--run-out", "1/15", "--rings", "15", "--lowest-modulus", "9,5", "--loss", "0.0095",
                     "--pairs", "5", "--need", "20", "--out", str(tmp_path)]) == 0  # fmt: skip
        said = capsys.readouterr().out
        assert "40 blanks" in said and "steeper than 1 in 15" in said and "spring: E" in said and "no promise of tone" in said
        assert (tmp_path / "stock.svg").read_text(encoding="utf-8").startswith("<svg")
        assert len((tmp_path / "graded.csv").read_text(encoding="utf-8").splitlines()) == 41
        assert main(["stock", str(path), "--run-out", "steep"]) == 2
    assert "--run-out" in capsys.readouterr().err
    assert main(["stock", str(tmp_path / "none.csv")]) == 2
