"""Values at the border: what goes in comes out, equal, printed, pickled, copied, in numpy and in pandas."""

import copy
import math
import pickle

import bracewright as bw
import numpy as np
import pytest


@pytest.fixture(scope="module")
def values(wood, blank, rig, shape, brace, plan, bench, sound, tmp_path_factory):
    reading = rig.reading([[1.2, 1.21, 1.2], [1.22, 1.2]])
    steel = bw.Bar(modulus_gpa=200, width_mm=12, height_mm=6)
    c = steel.width_mm * steel.height_mm**3 / 12 * steel.modulus_gpa * 1000
    lot = bw.Lot.of([brace, brace.with_dimension("scallop depth", 6)])
    step = bench.after_cap().next_pass()
    table = bw.StiffnessTable(
        e_gpa=[5, 25], depth_mm=[0, 8], stiffness_n_per_mm=[[20, 8], [90, 40]], load_n=20, second="rest stiffness"
    )
    curve = bw.ProportionalCurve(depth_mm=[0, 4, 8], compliance_mm_per_n=[0.4, 0.7, 1.3], load_n=20)
    belief = bw.Belief(
        e_gpa=bw.Unknown.log_normal(median=11.5, sd_ln=0.12), second=bw.Unknown.known(0.0), hand=bw.Hand(bias_fraction=0.05)
    )
    belief = belief.after_reading(0.8, u_mm=0.005).after_pass(1.0, measured_mm=[(0.9, 0.05)])
    advice = belief.advise(curve, bw.Window(1.0, 1.2), bw.Rule(alpha=0.02, deepest_mm=8, draws=500))
    path = tmp_path_factory.mktemp("values") / "readings.csv"
    path.write_text("load_n,deflection_mm,seat\n20,0.80,1\n20,0.81,1\n20,0.79,2\n", encoding="utf-8")
    rows = bw.read_readings(path)
    found = bw.recording_modes(sound)
    cut = bw.where_to_cut(brace, [rig.between(2.0, 2.2)])
    roughed = bw.rough_carve(plan, rig, modulus_gpa=[10.0, 11.0, 12.5], window=bw.Window(1.0, 1.1), most_grades=2)
    cap = bw.Remedy.on_crest(from_mm=0, to_mm=420, width_mm=3, height_mm=1, modulus_gpa=11, density_kg_m3=400)
    lighter = bw.Remedy.lighter_strings(tension_ratio=0.9)
    mended = bw.repairs(bw.Brace(blank, shape), rig.between(0.5, 0.6), {"a cap": cap, "lighter strings": lighter})
    whole = bw.repairs(brace, rig.between(5, 6), {"lighter strings": lighter})
    turns = []
    shop = bw.virtual_shop(plan, rig, window=bw.Window(1.0, 1.2), policy=lambda seen: turns.append(seen[-1]), count=2)
    together = bw.combined(found)
    glued = bw.Strip(brace, wood, thickness_mm=2.8, width_mm=60, grain_angle_deg=45)
    half_laps = bw.half_laps(brace, at_mm=200, angle_deg=98, bending_strength_mpa=65)
    change = bw.compared(together, together)
    bands = bw.bands("octave", low_hz=60)
    hum = bw.tap_modes(16_000, sound.samples[0, 1700:9000] + 0.01 * np.sin(2 * np.pi * 50 / 16_000 * np.arange(7300)))
    stick = bw.StickTap(blank, pickup=bw.Pickup(10, 0.3), foam=[bw.Foam(20, 0.2, u_stiffness_n_per_mm=0.1)])
    tapped = stick.modulus(bw.TapReading.from_mode(together.modes[2], mode=1))
    on_end = bw.LengthwiseTap(blank, end_mass_g=0.5, u_end_mass_g=0.05)
    top = bw.BarePlate(wood, length_mm=520, width_mm=400, thickness_mm=3.2, mass_g=272)
    modes = top.modes(5)
    moduli = top.moduli([bw.PlateReading(m.label, m.frequency_hz, u_hz=0.1) for m in modes])
    guess = top.suggest_labels([21.0, 29.6, 63.1])
    added = bw.AddedMass.from_modes(together.modes[1], together.modes[0], mass_g=5)
    sticks = [bw.StockBlank(f"{k}", modulus_gpa=10 + k, u_gpa=0.1, density_kg_m3=400 + k, loss_factor=0.01) for k in range(5)]
    pairing = bw.best_pairs(sticks, exponent=2.25)
    priors = bw.stock_priors(sticks)[0]
    delivery = tmp_path_factory.mktemp("delivery") / "delivery.csv"
    head = "name,modulus_gpa,u_modulus_gpa,density_kg_m3,u_density_kg_m3\n"
    delivery.write_text(f"{head}1,11,0.1,400,2\n2,,,410,2\n", encoding="utf-8")
    delivered = bw.read_delivery(delivery)
    scale = tmp_path_factory.mktemp("scale") / "weighings.csv"
    scale.write_text("date,mass_g\n2026-03-01,402.0\n2026-03-02 12:00,401.2\n", encoding="utf-8")
    repeats = bw.repeated([[1.20, 1.21, 1.20, 1.21, 1.9], [1.23, 1.22]], resolution=0.01, unit="mm")
    methods = [bw.Method("bend", 11.0, u=0.15), bw.Method("tap", 12.4, u=0.1)]
    fused = bw.fuse(methods)
    places = [(0, 0), (200, 0), (420, 0)]
    shapes = bw.roving_decays(places, 16_000, [k * sound.samples[0, 1700:9000] for k in (1.0, 0.4, -0.8)])
    blow = np.r_[np.zeros(20), 5.0, 9.0, 5.0, np.zeros(7277)]
    response = bw.frf(16_000, [blow, blow], [sound.samples[0, 1700:9000]] * 2)
    grid = bw.FrfSet(places, response.hz, [k * (response.re + 1j * response.im) for k in (1.0, 0.4, -0.8)])
    function = bw.UniversalFunction("frequency response", abscissa=[1, 2, 3], re=[1, 2, 1], im=[0, -1, 0], response_node=1)
    light, medium = bw.StringSet.steel("light", scale_mm=645), bw.StringSet.steel("medium", scale_mm=645)
    sizes = {"foot_length_mm": 150, "foot_width_mm": 32, "saddle_from_front_mm": 11, "top_thickness_mm": 2.8}
    bridge = bw.Bridge.pin(saddle_height_mm=12.2, end_height_mm=9, end_behind_mm=16, **sizes)
    load = bridge.load(light)
    couple = bw.couple_on_braces(load.couple_n_m)
    stages = bw.stringing(load, stiffness_n_m_per_deg=8, limit_deg=2)
    trend = bw.rotation_trend([1, 24, 168, 730], [0.9, 1.0, 1.08, 1.12], u_deg=0.05)
    old = bw.Wood.published("Sitka spruce (1999)")
    strip = bw.ArchStrip.under(brace, old, thickness_mm=2.8, plate_width_mm=60, grain_angle_deg=50)
    end = bw.BraceEnd(
        end_height_mm=3, length_mm=400, brace_width_mm=8, brace_modulus_gpa=11.5, brace_shear_gpa=0.7, thickness_mm=2.8,
        plate_width_mm=60, plate_modulus_gpa=1.45, plate_shear_gpa=0.06,
    )  # fmt: skip
    air = {"rh_percent": 45, "temperature_c": 21, "driest_rh_percent": 25, "dampest_rh_percent": 65}
    gate = bw.glue_gate(strip, old, built_arch_mm=2.3, **air)
    year = bw.season(strip, old, rh_percent=[30] * 6 + [60] * 6, glued_mc_percent=8.5, built_arch_mm=2.3)
    file = bw.read_universal(bw.Universal([function], nodes=[bw.UniversalNode(1, x_mm=5)]).to_bytes())
    shape_of_top = bw.Outline.from_bouts(length_mm=505, upper_bout_mm=292, waist_mm=245, lower_bout_mm=400)
    hole = bw.SoundHole.round(y_mm=151, diameter_mm=100)
    in_place = bw.PlacedBridge(bridge, y_mm=286, scale_mm=645)
    pattern = bw.x_pattern(shape_of_top, hole=hole, bridge=in_place)
    whole_top = bw.Layout(
        "a top", outline=shape_of_top, wood=wood, thickness=2.8, hole=hole, bridge=in_place, pattern=pattern,
        neck_block_mm=(80, 30),
    )  # fmt: skip
    clearances = whole_top.check()
    solved_top = bw.Top(whole_top, bridge_wood=wood, bridge_thickness_mm=9, bridge_mass_g=30, fineness=0.25)
    strung = solved_top.under([bw.TopLoad.of_bridge(load)])
    shaving = solved_top.shaving(strung.loads, read_mm=(0, 340), modes=1, step_mm=100)
    box = bw.BodyAir.round_hole(14.0, diameter_mm=100, edge_mm=2.8, u_volume_l=0.2)
    guitar = bw.CoupledBody(box, bw.BodyPlate(160, mass_g=80, area_cm2=350, q=25), q_air=30)
    tapped_box = bw.BodyTaps(
        [97.4, 198.3], u_open_hz=0.2, closed_hz=[182.1], u_closed_hz=0.2, added_mass_g=20, open_with_mass_hz=[93.9, 186.9],
        u_open_with_mass_hz=0.2,
    )  # fmt: skip
    of_box = tapped_box.identify(box)
    return [
        box,
        guitar,
        guitar.top,
        guitar.modes()[0],
        guitar.mobility([90, 180]),
        guitar.top_changed(stiffness_percent=-5),
        tapped_box,
        of_box,
        of_box.readings[0],
        shape_of_top,
        bw.Outline.from_points([0, 100, 100, 0], [0, 0, 200, 200], smooth=False),
        hole,
        bw.PlateThickness.measured([0, 50, 0], [0, 0, 50], [2.8, 2.7, 2.6]).with_thin_edge(off_mm=0.2, over_mm=30),
        bw.Ending.let_in("bass leg"),
        in_place,
        pattern,
        whole_top,
        whole_top.braces[1],
        whole_top.parts[0],
        whole_top.laps[0],
        whole_top.crossings[0],
        clearances,
        clearances.rows[0],
        clearances.legs[0],
        clearances.limits,
        solved_top,
        solved_top.mesh,
        *strung.loads,
        bw.TopLoad.weight(load_n=20, x_mm=0, y_mm=340),
        bw.TopLoad.spread(load_n=20, corners_mm=[(-50, 330), (50, 330), (50, 380)]),
        bw.TopLoad.line(load_n=20, from_mm=(-50, 340), to_mm=(50, 340)),
        bw.TopLoad.own_weight(),
        strung,
        solved_top.modes(2),
        shaving,
        shaving.braces[1],
        shaving.plate,
        *light.strings[1:3],
        light,
        light.tensions(),
        light.tensions().strings[0],
        bridge,
        load,
        couple,
        couple.braces[0],
        bw.swap_strings(light, medium, bridge=bridge, design_couple_n_m=9),
        bw.RotationTest(20, arm_mm=100, rotation_deg=0.5),
        stages,
        stages.stages[2],
        stages.judge("1 hour", 1.2),
        bw.creep_outlook(1.2),
        trend,
        trend.forecast[0],
        bw.action_change(rotation_deg=1.5, arch_rise_mm=-0.3, height_mm=13.5, scale_mm=645),
        strip,
        strip.change(8.5, 6),
        end,
        end.end_lift(-0.0026, strength_mpa=1.5),
        gate,
        year,
        stick,
        stick.brace,
        bw.Pickup(10, 0.3),
        bw.Foam(20, 0.2, u_stiffness_n_per_mm=0.1),
        bw.TapReading(344, u_hz=0.2),
        tapped,
        tapped.budget[0],
        bw.DynamicOverStatic.usual(),
        tapped.static_modulus(bw.DynamicOverStatic(1.05, u_ratio=0.02)),
        on_end,
        on_end.modulus(bw.TapReading(6000, u_hz=5)),
        bw.Loss.from_mode(together.modes[0]),
        added,
        added.modal(),
        top,
        modes[0],
        bw.PlateReading("1,1", 21, u_hz=0.1),
        moduli,
        moduli.e_l,
        top.how_to_tap("2,0"),
        guess,
        guess.modes[0],
        *sticks,
        delivered,
        delivered.set_aside[0],
        *bw.read_weighings(scale),
        bw.grade(sticks, lowest_modulus_gpa=11)[0],
        pairing,
        pairing.pairs[0],
        priors,
        priors.modulus_gpa,
        repeats,
        repeats.suspects[0],
        repeats.with_all,
        repeats.with_all.lines[0],
        bw.robust_mean([1, 2, 2.1, 9]),
        bw.Climate(8.0),
        bw.to_reference(wood, 11.0, what="modulus along", u=0.1, climate=bw.Climate(8.0)).budget,
        bw.to_reference(wood, 11.0, what="modulus along", u=0.1, climate=bw.Climate(8.0)),
        methods[0],
        fused,
        fused.pairs[0],
        bw.rest([0, 1, 2, 4], [402.0, 401.2, 400.8, 400.4], u_scale_g=0.05),
        bw.glue_water(1.0, area_mm2=4000, first_mm=3, second_mm=16),
        response,
        grid,
        shapes,
        shapes.modes[0],
        file,
        file.functions[0],
        file.nodes[0],
        file.units,
        rows[0],
        wood,
        wood.figure("modulus_l_gpa"),
        wood.plane_stiffness(ring_angle_deg=20, run_out=0.05),
        bw.inches_64(7.9),
        bw.Section.rectangle(),
        bw.Section.tapered_sides(crest_width_mm=5),
        bw.Section.rounded_cap(rise_of_height=0.4),
        bw.Section.parabolic_cap(rise_mm=4),
        bw.Section.parabolic_cap(rise_mm=4).numbers(height_mm=12, width_mm=8),
        shape,
        shape.mirrored(),
        shape.scallops[0],
        shape.checks(gouge_radius_mm=40),
        shape.with_half_lap(at_mm=210, length_mm=8, depth_mm=6, glued=True),
        bw.Profile.parabolic(400, peak_mm=16, left_mm=5, right_mm=6),
        bw.Profile.through(at_mm=[0, 100, 400], height_mm=[4, 16, 5], blend=["cosine", "quintic"]),
        bw.Profile.measured(at_mm=np.linspace(0, 400, 5), height_mm=[4, 12, 11, 12, 4]).with_arch(radius_mm=5000),
        blank,
        brace,
        brace.mirrored(),
        brace.along([0, 100, 200]),
        brace.drawn([0, 100, 200]),
        brace.working([100, 210]),
        brace.frequencies(count=1),
        brace.bend([bw.Load(210, 19.6, on="glue face")], supports=[20, bw.Support.pad(400, give_mm_per_n=1e-4)], at_mm=[210]),
        brace.sensitivity(rig, places=4),
        bw.Load(210, 19.6),
        bw.Support.pad(20),
        bw.Support.held(20),
        bw.Support.clamped(0),
        rig,
        reading,
        rig.expected(brace),
        rig.expected(brace).budget[0],
        rig.modulus(brace, reading),
        steel,
        rig.calibrated([(steel, 19.6, 19.6 * (380**3 / (48 * c) + 0.0002))]),
        rig.between(1.9, 2.1),
        bw.Goal.stiffness(x_mm=210, low_n_m2=10, high_n_m2=20),
        bw.Goal.frequency(low_hz=500, high_hz=600),
        bw.Goal.mass(low_g=15, high_g=16),
        plan,
        plan.passes[1],
        plan.passes[1].after,
        bw.carve_to(brace, goal=rig.exactly(1.1 * rig.expected(brace).deflection_mm), vary="scallop depth"),
        bench,
        bench.after_cap(shavings_g=1.0).log[0],
        step,
        step.decision,
        step.decision.window,
        bench.after_cap().what_to_measure(),
        bw.ShopSettings(knots=1.0),
        bw.ChanceRule(overshoot=0.03),
        bw.Way.book(depth_mm=2.0),
        cut,
        cut.places[0],
        cut.goals[0],
        brace.usual_places()[0],
        roughed,
        roughed.plans[0],
        roughed.plans[0].grades[0],
        cap,
        mended,
        mended.remedies[0],
        whole,
        shop,
        shop.braces[0],
        turns[0],
        bench.after_cap().what_to_measure().worth[0],
        bw.Unknown.log_normal(median=11.5, sd_ln=0.12),
        bw.Unknown.at_least_zero(mean=0.0, sd=2e-4),
        bw.Hand(),
        glued,
        glued.section([100, 200]),
        glued.bend(load_n=20, at_mm=200),
        glued.margins(load_n=20, at_mm=200, bending_strength_mpa=65, shear_strength_mpa=7),
        glued.sprung(dish_radius_mm=8000),
        glued.width_by_gluing(before_mm=2, after_mm=1, u_deflection_mm=0.01, at_mm=200),
        half_laps,
        half_laps.laps[0],
        bw.effective_widths(brace, wood, thickness_mm=2.8, width_mm=60, span_mm=300, grain_angle_deg=45),
        bw.KnownHand().after(aim_mm=[1, 2], taken_mm=[1.2, 1.9], u_mm=0.03),
        bw.Gauge(),
        table,
        curve,
        bw.Costs(per_pass=1, short=20, over=100),
        bw.Rule(alpha=0.02, deepest_mm=9, costs=bw.Costs(per_pass=1, short=20, over=100)),
        belief,
        belief.linear(curve),
        advice,
        advice.now,
        advice.expected_mm,
        *bw.group_readings(rows),
        bw.group_readings(rows)[0].seats[0],
        lot,
        lot.along(stations=5),
        lot.passes(blank_height_mm=17, allowance_mm=1.5, max_depth_mm=1, passes=2, span_mm=380),
        bw.tolerance(brace, span_mm=380, modulus_spread=0.1, density_spread=0.05),
        sound,
        sound.checks(),
        found,
        found.taps[0],
        found.taps[0].tap,
        found.taps[0].found,
        found.taps[0].found.modes[0],
        hum.steady[0],
        together,
        together.modes[0],
        change,
        change.shifts[0],
        bands[0],
        bw.level_balance(16_000, {"E": sound.samples[0, 1700:9000], "A": [sound.samples[0, 1800:9100]]}, over_s=0.4)[0],
        *bw.band_decays(16_000, sound.samples[0, 1700:9000], bands=bands),
    ]


def test_values_are_equal_pickled_copied_and_printed(values):
    for v in values:
        name = type(v).__name__
        back = pickle.loads(pickle.dumps(v))
        assert type(back) is type(v) and back == v, name
        assert copy.copy(v) == v and copy.deepcopy(v) == v, name
        assert hash(back) == hash(v) and v in {back}, name
        assert copy.deepcopy([v]) == [v] and v != "something else", name
        line = repr(v)
        assert "\n" not in line and len(line) < 800 and name in line, name
        if isinstance(v, (bw.Top, bw.TopLoad, bw.TopUnder, bw.TopModes)):  # have no page of their own yet
            assert not hasattr(v, "_repr_html_")
            continue
        html = v._repr_html_()
        assert "<script" not in html and "http" not in html.replace("http://www.w3.org", ""), name


def test_every_class_of_the_package_is_among_them(values):
    seen = {type(v) for v in values} | {bw.ReadingsFit, bw.CopyReport}
    classes = {c for c in (getattr(bw, n) for n in bw.__all__) if isinstance(c, type) and not issubclass(c, Exception)}
    assert classes - seen == set()


def test_records_give_their_fields_as_a_dict(values):
    for v in values:
        if hasattr(v, "to_dict") and not isinstance(v, bw.Plan):  # the columns of a plan are one line a pass
            for name, value in v.to_dict().items():
                if hasattr(v, name):
                    np.testing.assert_equal(value, getattr(v, name))


def test_numbers_come_in_as_floats_ints_numpy_scalars_and_texts():
    want = bw.Profile.straight(400.0, 7.9375)
    for length in (400, np.float32(400), np.float64(400), np.int64(400), np.array(400.0), "400 mm", "40 cm", "0,4 m"):
        assert bw.Profile.straight(length, "5/16 in") == want
    # 1 lbf = 4.4482216152605 N, international pound and standard gravity (NIST SP 811, Appendix B)
    assert bw.Load("1 in", "1 lbf").force_n == pytest.approx(4.4482216152605, rel=1e-15)
    assert bw.Load("1 in", "1 lbf").x_mm == 25.4


def test_lists_come_in_as_lists_tuples_arrays_and_series(brace):
    pandas = pytest.importorskip("pandas", reason="tables as pandas need pandas")
    x = [0, 100, 200]
    want = brace.ei_n_m2(np.array(x, float))
    for given in (
        x,
        tuple(x),
        np.array(x),
        np.array(x, "float32"),
        np.array([0, 9, 100, 9, 200, 9.0])[::2],
        range(0, 201, 100),
    ):
        np.testing.assert_array_equal(brace.ei_n_m2(given), want)
    np.testing.assert_array_equal(brace.ei_n_m2(pandas.Series(x)), want)
    np.testing.assert_array_equal(brace.ei_n_m2(["0 mm", "10 cm", 200]), want)
    np.testing.assert_array_equal(brace.ei_n_m2(100), want[1:2])
    assert brace.ei_n_m2([]).shape == (0,)


def test_quantities_with_units_come_in(brace):
    pint = pytest.importorskip("pint", reason="quantities with a unit are those of pint")
    u = pint.UnitRegistry()
    assert bw.Profile.straight(40 * u.cm, 0.5 * u.inch) == bw.Profile.straight(400, 12.7)
    np.testing.assert_allclose(brace.ei_n_m2(u.Quantity([0.1, 0.2], "m")), brace.ei_n_m2([100, 200]), rtol=1e-12)
    assert bw.emc_percent(temperature_c=u.Quantity(70, "degF"), rh_percent=50 * u.percent) == pytest.approx(
        bw.emc_percent(temperature_c=(70 - 32) / 1.8, rh_percent=50)
    )
    with pytest.raises(bw.InvalidInputError, match="cannot be turned into mm"):
        bw.Profile.straight(4 * u.gram, 12)


def test_arrays_leave_as_fresh_float64(brace):
    a = brace.along([0.0, 100.0])
    x = a.x_mm
    x[0] = 99.0
    assert a.x_mm[0] == 0.0 and x.dtype == np.float64


def test_columns_leave_as_a_pandas_table(brace, plan):
    pytest.importorskip("pandas", reason="tables as pandas need pandas")
    table = brace.along([0, 100, 200]).to_pandas()
    assert list(table.columns)[:2] == ["x_mm", "height_mm"] and len(table) == 3
    assert list(plan.to_pandas()["grams_off"]) == [p.grams_off for p in plan.passes]
    assert len(brace.bend([(210, 19.6)], supports=[20, 400], at_mm=[100, 210, 300]).to_pandas()) == 3
    assert len(plan.passes[0].to_pandas()) == len(plan.passes[0].x_mm)


def test_a_top_comes_back_with_what_it_answers(values):
    """A pickle of a top under loads, or of its modes, is solved again: it says the same."""
    under, modes, shaving = (next(v for v in values if isinstance(v, c)) for c in (bw.TopUnder, bw.TopModes, bw.Shaving))
    for back in (pickle.loads(pickle.dumps(under)), copy.deepcopy(under)):
        np.testing.assert_allclose(back.drawn_mm(), under.drawn_mm(), rtol=1e-9, atol=1e-12)
        assert back.top == under.top and back.loads == under.loads
        assert back.bridge_turn_deg == pytest.approx(under.bridge_turn_deg)
    np.testing.assert_allclose(pickle.loads(pickle.dumps(modes)).frequencies_hz, modes.frequencies_hz, rtol=1e-9)
    # other loads, another count, another fineness are other values
    top = under.top
    assert top.under([*under.loads, *under.loads]) != under and top.modes(1) != modes
    assert bw.Top(top.layout, fineness=0.3) != bw.Top(top.layout, fineness=0.25)
    # as many numbers as there are places
    x, y, triangles = top.drawn()
    assert x.shape == y.shape == under.drawn_mm().shape == modes.drawn(0).shape and triangles.dtype == np.int64
    assert triangles.shape[1] == 3 and triangles.max() == len(x) - 1 and triangles.min() == 0
    np.testing.assert_allclose(under.drawn_mm(), under.deflection_mm(x, y), atol=1e-6)
    assert under.plate_stress_mpa([0, 10, 20], [340, 340, 340]).shape == (3, 3)
    assert under.brace_stress_mpa("bass leg", []).shape == (0,)
    # per gram is per millimetre over grams per millimetre, a row for each thing asked for
    for brace in shaving.braces:
        np.testing.assert_allclose(np.array(brace.per_g) * brace.g_per_mm, brace.per_mm, rtol=1e-12)
        assert np.array(brace.per_mm).shape == (len(shaving.of), len(brace.along_mm))
    assert shaving.of == ["deflection", "bridge turn", "mode 1"] and shaving.unit == ["mm", "deg", "Hz"]


def test_a_thinning_leaves_as_a_pandas_table(values):
    pytest.importorskip("pandas", reason="tables as pandas need pandas")
    plate = next(v for v in values if isinstance(v, bw.PlateShave))
    table = plate.to_pandas()
    assert len(table) == len(plate.area_mm2) and list(table["area_mm2"]) == list(plate.area_mm2)


def test_a_rectangle_by_hand(wood):
    """EI of a rectangle, E b h^3 / 12 (closed form)."""
    blank = bw.Blank(wood, length_mm=400, width_mm=8, height_mm=16, modulus_gpa=11.0, modulus_spread=0.1)
    brace = bw.Brace.uncarved(blank)
    want = 11.0e9 * 0.008 * 0.016**3 / 12
    assert brace.ei_n_m2([200])[0] == pytest.approx(want, rel=1e-12)
    assert brace.volume_mm3 == pytest.approx(400 * 8 * 16)
    # stress under 2 N m: M / W, W = b h^2 / 6
    crest, glue = brace.stress_mpa([200], moment_n_m=[2.0])
    assert glue[0] == pytest.approx(2000 / (8 * 16**2 / 6)) and crest[0] == pytest.approx(-glue[0])


def test_a_blank_learns_from_a_reading(blank, rig):
    read = rig.expected(bw.Brace.uncarved(blank)).deflection_mm
    learned = blank.learn(rig.reading(read))
    assert learned.modulus_gpa == pytest.approx(blank.modulus_gpa, rel=1e-9)
    assert learned.modulus_spread < 0.2 * blank.modulus_spread and learned.learned_from == 1


def test_the_design_runs_from_blank_to_next_pass(blank, brace, rig):
    plan = bw.plan_passes(blank, brace, max_depth_mm=1.0)
    assert sum(p.grams_off for p in plan.passes) == pytest.approx(bw.Brace.uncarved(blank).mass_g - brace.mass_g)
    readings = [e.deflection_mm for e in plan.readings(rig)]
    # never less after a pass, within the error of the beam
    assert np.all(np.diff(readings) > -1e-5) and len(readings) == len(plan) + 1
    low, high = 0.9 * readings[-1], readings[-1]
    fit = bw.carve_to(brace, goal=rig.between(low, high), vary="scallop depth")
    assert fit.outcome == "reached" and low <= fit.value <= high
    bench = bw.Bench(plan, rig, goal=rig.between(low, high), overshoot=0.02)
    bench = bench.after_reading(readings[0]).after_cap()
    step = bench.next_pass()
    assert not step.stop and step.decision.kind == "carve" and step.decision.chance_over <= 0.021
    after = bench.after_pass(shavings_g=step.grams * 0.97, deflection_mm=step.decision.dial_mm[0])
    assert len(after.log) == 3 and after.removed_mm[0] == pytest.approx(step.depth_mm, rel=0.15)


def test_a_pass_keeps_its_shape_through_a_pickle(plan):
    """A pass is no longer what the recipe of its profile says: the crest itself must travel."""
    after = plan.passes[1].after
    back = pickle.loads(pickle.dumps(after))
    x = np.linspace(0, 420, 101)
    np.testing.assert_array_equal(back.profile.height_mm(x), after.profile.height_mm(x))
    assert back.mass_g == after.mass_g


def test_a_lot_agrees_with_its_braces_one_by_one(wood):
    at, height = [0, 100, 200, 300, 400], np.array([[6, 14, 9, 15, 5], [5, 13, 8, 14, 6.0]])
    lot = bw.Lot.through(
        at_mm=at,
        height_mm=height,
        width_mm=8,
        modulus_gpa=[11, 12],
        density_kg_m3=400,
        blend="cosine",
        shear_ratio=0.061,
    )
    lone = []
    for row, e in zip(height, (11, 12), strict=True):
        p = bw.Profile.through(at_mm=at, height_mm=row)
        blank = bw.Blank(wood, length_mm=400, width_mm=8, height_mm=16, modulus_gpa=e, modulus_spread=0.1)
        lone.append(bw.Brace(blank, p))
    np.testing.assert_allclose(
        lot.along(stations=9).ei_n_m2, [b.ei_n_m2(np.linspace(0, 400, 9)) for b in lone], rtol=1e-9, atol=1e-12
    )
    np.testing.assert_allclose(
        lot.three_point_mm_per_n(span_mm=380), [b.section_three_point_mm_per_n(span_mm=380) for b in lone], rtol=1e-4
    )
    assert len(lot) == 2 and lot.along(stations=9).area_mm2.shape == (2, 9)


def test_files_come_back_the_same(wood, tmp_path):
    path = tmp_path / "wood.json"
    path.write_text(wood.to_json(), encoding="utf-8")
    assert bw.Wood.from_file(path) == wood
    table = tmp_path / "woods.csv"
    table.write_text("species;density (kg/m3);modulus_l_gpa\nmine;410;10,5\nyours;430;11,5\n", encoding="utf-8")
    assert bw.Wood.from_file(table, name="Yours").modulus_l_gpa == 11.5
    with pytest.raises(bw.InvalidInputError, match="pick one with name="):
        bw.Wood.from_file(table)
    readings = tmp_path / "readings.csv"
    readings.write_text("load (kg);deflection (mm)\n2;1,23\n", encoding="utf-8")
    [row] = bw.read_readings(readings)
    # 2 kg at standard gravity, 9.80665 m/s2 (ISO 80000-3)
    assert math.isclose(row.load_n, 2 * 9.80665) and row.deflection_mm == 1.23
    assert pickle.loads(pickle.dumps(row)) == row


def test_modulus_and_give_from_readings(brace):
    """Readings made with E 3 % above the belief and a give of 0.001 mm/N give both back."""
    span, load = [380, 380, 300, 300, 220, 220], [10, 20] * 3
    e, give = 1.03, 0.001
    d = [f * (brace.section_three_point_mm_per_n(span_mm=s) / e + give) for s, f in zip(span, load, strict=True)]
    fit = bw.fit_readings(brace, span_mm=span, load_n=load, deflection_mm=d, beam="section")
    assert fit.modulus_gpa == pytest.approx(e * brace.blank.modulus_gpa, rel=1e-9)
    assert fit.give_mm_per_n == pytest.approx(give, rel=1e-6)
    assert pickle.loads(pickle.dumps(fit)) == fit


def test_a_stiffness_is_copied_onto_another_stick(wood, brace, rig):
    stick = bw.Blank(
        wood, length_mm=420, width_mm=8, height_mm=19, modulus_gpa=brace.blank.modulus_gpa * 1.1, modulus_spread=0.05
    )
    copied = bw.copy_stiffness(brace, stick=stick, rig=rig)
    assert copied.worst_miss < 0.02 and copied.window.holds(copied.reading_mm)
    assert pickle.loads(pickle.dumps(copied)) == copied


def test_a_pass_of_the_cap_has_no_place(plan):
    columns = plan.to_dict()
    assert columns["cut_from_mm"][0] is None and columns["cut_to_mm"][0] is None
    assert columns["cut_from_mm"][1:] == [p.cut_mm[0] for p in plan.passes[1:]]
    assert not any(v is not None and v != v for c in columns.values() for v in c)


def test_hashes_go_with_equality(brace, rig):
    twin = bw.Brace(brace.blank, brace.profile, brace.section)
    assert twin == brace and hash(twin) == hash(brace) and len({twin, brace, brace.mirrored()}) == 2
    # 0 and -0 are equal, so their hashes are
    assert bw.Load(0.0, 10) == bw.Load(-0.0, 10) and hash(bw.Load(0.0, 10)) == hash(bw.Load(-0.0, 10))
    assert len({bw.Load(x, 10) for x in range(50)}) == 50
    assert {rig.expected(brace): 1}[rig.expected(twin)] == 1


def test_one_side_or_both_alike(blank, shape):
    target = bw.Brace(blank, shape.with_scallop(at_mm=210, depth_mm=2, length_mm=40))
    left = bw.plan_passes(blank, target, max_depth_mm=1, side="left")
    x = np.linspace(0, 420, 85)
    heights = left.end.profile.height_mm(x)
    np.testing.assert_allclose(heights[x >= 210], 17, rtol=1e-14)
    np.testing.assert_allclose(heights[x < 210], target.profile.height_mm(x)[x < 210], atol=1e-9)
    assert any("right of x = 210 mm is left as it stands" in n for n in left.notes)
    both = bw.plan_passes(left.end, target, max_depth_mm=1, side="right", middle_mm="21 cm").end
    np.testing.assert_allclose(both.profile.height_mm(x), target.profile.height_mm(x), atol=1e-9)
    uneven = bw.Brace(blank, bw.Profile.linear(420, left_mm=8, right_mm=14))
    alike = bw.plan_passes(blank, uneven, max_depth_mm=1, side="symmetric")
    heights = alike.end.profile.height_mm(x)
    np.testing.assert_allclose(heights, heights[::-1], atol=1e-9)
    np.testing.assert_allclose(heights, np.maximum(8 + 6 * x / 420, 14 - 6 * x / 420), atol=1e-9)
    with pytest.raises(bw.InvalidInputError, match="runs the whole length"):
        bw.plan_passes(blank, target.with_section(bw.Section.parabolic_cap(rise_mm=4)), max_depth_mm=1, side="left")


def test_advice_is_no_deeper_than_one_pass(blank, rig):
    target = bw.Brace(blank, bw.Profile.straight(420, 10))
    plan = bw.plan_passes(blank, target, max_depth_mm=0.5)
    d = rig.expected(plan.at_depth(4)).deflection_mm
    start = plan.readings(rig)[0].deflection_mm
    goal = rig.between(0.95 * d, 1.05 * d)
    step = bw.Bench(plan, goal=goal).after_reading(start).next_pass()
    free = bw.Bench(plan, goal=goal, deepest_pass_mm=20).after_reading(start).next_pass()
    assert step.capped and step.depth_mm == 0.5 and step.allowed_mm == free.depth_mm > 2 and not free.capped
    assert step.decision.reason == "held by the deepest cut of one pass" and "more than one pass takes" in step.words
    assert step.take_mm.max() <= 0.5 + 1e-9 and step.decision.chance_over <= free.decision.chance_over


def test_mode_shapes_of_a_straight_stick(blank):
    shapes = bw.Brace.uncarved(blank).mode_shapes(np.linspace(0, 420, 43), count=2)
    assert shapes.shape == (2, 43)
    # even and odd about the middle, greatest 1
    np.testing.assert_allclose(shapes[0], shapes[0][::-1], atol=1e-6)
    np.testing.assert_allclose(shapes[1], -shapes[1][::-1], atol=1e-6)
    np.testing.assert_allclose(np.abs(shapes).max(axis=1), 1, atol=1e-9)


def test_repeats_and_seats_are_grouped(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text("load_n,deflection_mm,seat\n20,0.80,1\n20,0.82,1\n10,0.40,1\n20,0.90,2\n", encoding="utf-8")
    twenty, ten = bw.group_readings(bw.read_readings(path))
    assert twenty.load_n == 20 and [list(s.deflections_mm) for s in twenty.seats] == [[0.80, 0.82], [0.90]]
    # seats count alike: (0.81 + 0.90) / 2; by hand
    assert twenty.mean_mm == pytest.approx(0.855) and twenty.repeat_sd_mm == pytest.approx(0.02 / 2**0.5)
    assert twenty.seat_sd_mm == pytest.approx(0.09 / 2**0.5) and ten.seat_sd_mm is None and ten.repeat_sd_mm is None


def test_pictures_are_svg(brace, plan, rig):
    goal = rig.between(1.9, 2.1)
    pictures = [
        brace.svg(),
        plan.svg(),
        brace.working(np.linspace(30, 390, 9)).svg(),
        brace.sensitivity(rig, places=6).svg(brace),
        bw.readings_svg(plan.readings(rig), goal, read=[(0, 1.0, 0.01)]),
    ]
    for picture in pictures:
        assert picture.lstrip().startswith("<svg") and picture.rstrip().endswith("</svg>") and "NaN" not in picture


def test_other_threads_run_during_a_long_call(brace):
    """The interpreter is released: a counting thread gets on while the beam is solved."""
    import threading

    counted, done = [0], threading.Event()

    def count():
        while not done.is_set():
            counted[0] += 1

    thread = threading.Thread(target=count)
    thread.start()
    before = counted[0]
    bw.tolerance(brace, span_mm=380, modulus_spread=0.1, density_spread=0.05, draws=2_000_000)
    during = counted[0] - before
    done.set()
    thread.join()
    assert during > 100
