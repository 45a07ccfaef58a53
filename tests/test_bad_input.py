"""A table of bad calls: each is refused by the right class of error, in a sentence that names the argument (or file and line)
and the unit or what is allowed; and no junk at all gets anything else out of any callable of the package."""

import inspect
import math
import random

import bracewright as bw
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

WOOD = bw.Wood.published("Sitka spruce")
BLANK = bw.Blank(WOOD, length_mm=420, width_mm=8.0, height_mm=17.0, mass_g=23.6)
SHAPE = (
    bw.Profile.straight(420, 16)
    .with_ends(length_mm=50, height_mm=3)
    .with_scallop(at_mm=110, length_mm=100, depth_mm=7)
    .with_scallop(at_mm=310, length_mm=100, depth_mm=7)
)
RIG = bw.ThreePoint(span_mm=380, load_n=19.6, u_deflection_mm=0.006)
BRACE = bw.Brace(BLANK, SHAPE, bw.Section.parabolic_cap(rise_mm=5))
PLAN = bw.plan_passes(BLANK, BRACE, max_depth_mm=2.0)
END = RIG.expected(PLAN.end).deflection_mm
GOAL = RIG.between(0.95 * END, 1.02 * END)
BENCH = bw.Bench(PLAN, goal=GOAL)
CARVING = BENCH.after_cap()
LOT = bw.Lot.of([BRACE, BRACE.with_dimension("scallop depth", 6)])
TABLE = bw.StiffnessTable(e_gpa=[5, 25], depth_mm=[0, 8], stiffness_n_per_mm=[[20, 8], [90, 40]], load_n=20)
CURVE = bw.ProportionalCurve(depth_mm=[0, 4, 8], compliance_mm_per_n=[0.4, 0.7, 1.3], load_n=20)
HAND = bw.Hand()
ELEVEN = bw.Unknown.log_normal(median=11.5, sd_ln=0.12)
BELIEF = bw.Belief(e_gpa=ELEVEN, second=bw.Unknown.known(0.0), hand=HAND).after_reading(0.8, u_mm=0.01)
RULE = bw.Rule(alpha=0.02, deepest_mm=8, draws=200)
WINDOW = bw.Window(1.0, 1.2)
BAR = bw.Bar(modulus_gpa=200, width_mm=12, height_mm=6)
READING = RIG.reading(1.2)

NAN, INF = math.nan, math.inf


def sentence(error):
    """What a person sees: the words, and the notes Python prints below them."""
    return "\n".join([str(error), *getattr(error, "__notes__", [])])


ROWS = []


def row(call, good, arg, value, kind, *words, said=None):
    """`said`: the word that stands for the argument where it is a list of things with names of their own."""
    ROWS.append(pytest.param(call, {**good, arg: value}, kind, (said or arg, *words), id=f"{len(ROWS)}-{arg}={value!r:.30}"))


def numbers(call, good, unit, allowed=None, **bad):
    """Bad values of some arguments, and of each what no number is. `allowed`: a word of what is allowed, in every sentence
    about a value out of range."""
    for arg, values in bad.items():
        for value in values:
            row(call, good, arg, value, bw.InvalidInputError, unit, *([allowed] if allowed else []))
        row(call, good, arg, NAN, bw.InvalidInputError, unit, "must be")
        row(call, good, arg, [], TypeError, unit, "list")
        if unit:
            row(call, good, arg, "5 furlongs", bw.InvalidInputError, "furlongs", "must be one of")


def counts(call, good, *args):
    for arg in args:
        row(call, good, arg, -1, bw.InvalidInputError, "whole number")
        row(call, good, arg, 1.5, TypeError, "whole number", "float")
        row(call, good, arg, 10**30, bw.InvalidInputError, "whole number")


def lists(call, good, unit, **bad):
    for arg, values in bad.items():
        for value in values:
            row(call, good, arg, value, bw.InvalidInputError)
        row(call, good, arg, [[1, 2], [3]], bw.InvalidInputError, unit)
        row(call, good, arg, np.zeros((2, 2, 2)), bw.InvalidInputError)
        row(call, good, arg, {"a": 1}, bw.InvalidInputError)
        row(call, good, arg, object(), bw.InvalidInputError, unit)


def words(call, good, **bad):
    for arg, value in bad.items():
        row(call, good, arg, value, bw.InvalidInputError, "must be")


def things(call, good, *args):
    """Arguments that are values of the package."""
    for arg in args:
        row(call, good, arg, 5, TypeError)
        row(call, good, arg, "that one", TypeError)


stick = {"wood": WOOD, "length_mm": 420, "width_mm": 8.0, "height_mm": 17.0}
numbers(
    bw.Blank, stick, "mm", length_mm=[0, -1, 1e-275, 0.5, 2001, INF], width_mm=[0, -8, 1e-9, 101], height_mm=[0, -17, 0.01, 201]
)
numbers(bw.Blank, stick, "mm", u_length_mm=[-1], u_width_mm=[-1, INF], u_height_mm=[-0.1])
numbers(bw.Blank, stick, " g", mass_g=[0, -2, 1e-9, 2e3, INF], u_mass_g=[-1])
numbers(bw.Blank, stick, "GPa", modulus_gpa=[0, -1, 0.01, 500])
numbers(bw.Blank, stick, "", modulus_spread=[-0.1, 2], run_out=[2, -2, INF])
numbers(bw.Blank, stick, "deg", ring_angle_deg=[400, INF])
things(bw.Blank, stick, "wood")
measured = {"wood": WOOD, "at_mm": [0, 200, 420], "height_mm": [17, 16, 17], "width_mm": 8}
lists(
    bw.Blank.measured,
    measured,
    "mm",
    at_mm=[[0, 300, 200], [0, 420], [1, 200, 420], [0, NAN, 420], []],
    height_mm=[[17, 16], [17, -1, 17], [17, INF, 17]],
)
things(bw.Blank.shaped, {"wood": WOOD, "profile": SHAPE, "width_mm": 8}, "wood", "profile")
numbers(BLANK.with_modulus, {"modulus_gpa": 11, "modulus_spread": 0.1}, "GPa", modulus_gpa=[0, -1, 1000])
things(BLANK.learn, {"reading": READING}, "reading")
things(BLANK.expected, {"rig": RIG}, "rig")

numbers(
    bw.Profile.straight,
    {"length_mm": 420, "height_mm": 16},
    "mm",
    length_mm=[0, -1, 1e-300, 5000],
    height_mm=[0, -1, 1e-300, 500],
)
numbers(bw.Profile.linear, {"length_mm": 420, "left_mm": 5, "right_mm": 6}, "mm", left_mm=[-1], right_mm=[-2])
parabola = {"length_mm": 420, "peak_mm": 16, "left_mm": 5, "right_mm": 5}
numbers(bw.Profile.parabolic, parabola, "mm", peak_mm=[0, -1, 900], left_mm=[-1, 17], right_mm=[-1, 17], at_mm=[0, -5, 420, 500])
points = {"at_mm": [0, 200, 420], "height_mm": [5, 16, 5]}
lists(
    bw.Profile.through,
    points,
    "mm",
    at_mm=[[0, 0, 420], [0, 420], [5, 200, 420], [0, 200, INF]],
    height_mm=[[5, 16], [5, -16, 5], [0, 0, 0]],
)
words(bw.Profile.through, points, blend="wavy")
lists(bw.Profile.measured, points, "mm", at_mm=[[0, 300, 200]], height_mm=[[5, NAN, 5]])
end = {"length_mm": 50, "height_mm": 3}
for ramp in (SHAPE.with_ends, SHAPE.with_left_end, SHAPE.with_right_end):
    numbers(ramp, end, "mm", length_mm=[0, -1, 1e-9, 421], height_mm=[-1, 17])
    words(ramp, end, blend="wavy")
scoop = {"at_mm": 210, "length_mm": 40, "depth_mm": 3}
numbers(SHAPE.with_scallop, scoop, "mm", at_mm=[-1, 500, INF], depth_mm=[-1, INF])
numbers(SHAPE.with_scallop, scoop, "mm", length_mm=[0, -1])
words(SHAPE.with_scallop, scoop, shape="square")
lap = {"at_mm": 210, "length_mm": 8, "depth_mm": 6}
numbers(SHAPE.with_half_lap, lap, "mm", length_mm=[0, -1, 1e-9], depth_mm=[0, -1, 40], cap_mm=[-1])
words(SHAPE.with_half_lap, lap, side="left")
numbers(SHAPE.with_arch, {"radius_mm": 5000}, "mm", radius_mm=[0, -1, 10])
numbers(SHAPE.with_height, {"height_mm": 15}, "mm", height_mm=[0, -1, 300])
numbers(SHAPE.with_end_height, {"height_mm": 2}, "mm", height_mm=[-1, 30])
numbers(SHAPE.checks, {}, "mm", gouge_radius_mm=[0, -1], smallest_safe_height_mm=[-1])
numbers(SHAPE.checks, {}, "deg", steepest_wall_deg=[-1])
lists(SHAPE.height_mm, {"x_mm": [1]}, "mm", x_mm=[[-1], [421], [NAN]])

numbers(bw.Section.tapered_sides, {"crest_width_mm": 5}, "mm", crest_width_mm=[0, -1, 1e-9, 1e9])
for cap in (bw.Section.rounded_cap, bw.Section.parabolic_cap, bw.Section.triangular_cap, bw.Section.cusp_cap):
    numbers(cap, {}, "mm", rise_mm=[0, -1, 1e-9])
    numbers(cap, {}, "", rise_of_height=[0, -1, 2])
numbers(bw.Section.power_cap, {"exponent": 2, "rise_mm": 4}, "", exponent=[0, -1, 100])
words(bw.Section.named, {"family": "rectangle"}, family="hexagon")
section = {"height_mm": 12, "width_mm": 8}
numbers(bw.Section.rectangle().numbers, section, "mm", height_mm=[0, -1, 1e-275], width_mm=[0, -1, 1e-275])
numbers(bw.Section.rectangle().width_mm, {"z_mm": 1, **section}, "mm", height_mm=[0, -1], width_mm=[0])

things(bw.Brace, {"blank": BLANK, "profile": SHAPE, "section": bw.Section.rectangle()}, "blank", "profile", "section")
lists(BRACE.along, {"x_mm": [1]}, "mm", x_mm=[[-1], [1, 500], [INF]])
lists(BRACE.ei_n_m2, {"x_mm": [1]}, "mm", x_mm=[[-1], ["here"]])
lists(BRACE.stress_mpa, {"x_mm": [100], "moment_n_m": [1]}, "N m", moment_n_m=[[1, 2], [NAN]])
lists(BRACE.working, {"x_mm": [100]}, "mm", x_mm=[[-1], [500]])
numbers(BRACE.working, {"x_mm": [100]}, "mm", window_mm=[0, -1, 1e4])
numbers(BRACE.with_width_mm, {"width_mm": 7}, "mm", width_mm=[0, -1, 9, 1e-9])
numbers(BRACE.mass_between_g, {"start_mm": 10, "end_mm": 20}, "mm", start_mm=[-1, 500], end_mm=[-1, 500])
numbers(BRACE.section_three_point_mm_per_n, {"span_mm": 380}, "mm", span_mm=[0, -1, 500])
counts(BRACE.frequencies, {}, "count")
row(BRACE.frequencies, {}, "count", 0, bw.InvalidInputError, "from 1 to 12")
row(BRACE.frequencies, {}, "count", 99, bw.InvalidInputError, "from 1 to 12")
lists(BRACE.mode_shapes, {"x_mm": [100]}, "mm", x_mm=[[-1], [500]])
counts(BRACE.mode_shapes, {"x_mm": [100]}, "count")
counts(BRACE.sensitivity, {"rig": RIG}, "places")
things(BRACE.sensitivity, {"rig": RIG}, "rig")
words(BRACE.with_dimension, {"name": "height", "value_mm": 15}, name="girth")
words(BRACE.bend, {"loads": [(210, 10)], "supports": [20, 400], "at_mm": 210}, dial="top")
bend = {"loads": [(210, 10)], "supports": [20, 400], "at_mm": 210}
row(BRACE.bend, bend, "loads", [], bw.InvalidInputError, "load")
row(BRACE.bend, bend, "loads", [(500, 10)], bw.InvalidInputError, "from 0 to 420 mm", said="load 1")
row(BRACE.bend, bend, "loads", [(210, NAN)], bw.InvalidInputError, " N", said="load 1")
row(BRACE.bend, bend, "loads", [("here", 10)], bw.InvalidInputError, "x_mm")
row(BRACE.bend, bend, "loads", [(210, "10 stone")], bw.InvalidInputError, "force_n")
row(BRACE.bend, bend, "loads", [{"x_mm": 210}], TypeError, "loads")
lists(BRACE.bend, bend, "mm", at_mm=[[-5], [500]])
numbers(bw.Load, {"x_mm": 210, "force_n": 10}, " N", force_n=[INF])
numbers(bw.Support.pad, {"x_mm": 20}, "mm", x_mm=[INF], pad_mm=[0, -1], give_mm_per_n=[-1])
numbers(bw.Support.held, {"x_mm": 20}, "mm", x_mm=[INF])
numbers(bw.Support.clamped, {"x_mm": 0}, "mm", x_mm=[INF])
numbers(bw.Load, {"x_mm": 210, "force_n": 10}, "mm", x_mm=[INF], pad_mm=[0, -1])
words(bw.Load, {"x_mm": 210, "force_n": 10}, on="the side")

numbers(
    bw.ThreePoint, {"span_mm": 380, "load_n": 19.6}, "mm", span_mm=[0, -380, 1e-275, 1e6], pad_mm=[0, -1, 1e4], u_span_mm=[-1]
)
numbers(bw.ThreePoint, {"span_mm": 380, "load_n": 19.6}, " N", load_n=[0, -19.6, 1e-275, 1e6])
numbers(
    bw.ThreePoint,
    {"span_mm": 380, "load_n": 19.6},
    "mm",
    repeat_mm=[-1],
    reseat_mm=[-1],
    resolution_mm=[-1],
    calibration_mm=[-1],
    middle_mm=[-1],
)
numbers(bw.ThreePoint, {"span_mm": 380, "load_n": 19.6}, "mm/N", give_mm_per_n=[-1], u_give_mm_per_n=[-1])
numbers(bw.ThreePoint, {"span_mm": 380, "load_n": 19.6}, "", u_load=[-1, 2])
counts(bw.ThreePoint, {"span_mm": 380, "load_n": 19.6}, "readings_per_seat", "seats")
row(bw.ThreePoint, {"span_mm": 380, "load_n": 19.6}, "seats", 0, bw.InvalidInputError, "from 1")
words(bw.ThreePoint, {"span_mm": 380, "load_n": 19.6}, dial="top")
numbers(bw.FourPoint, {"span_mm": 380, "inner_mm": 100, "load_n": 19.6}, "mm", inner_mm=[0, -1, 400])
numbers(bw.Cantilever, {"reach_mm": 200, "load_n": 5}, "mm", reach_mm=[0, -1, 1e-275])
numbers(RIG.with_load_n, {"load_n": 10}, " N", load_n=[0, -1, 1e9])
numbers(RIG.with_give, {"give_mm_per_n": 0}, "mm/N", give_mm_per_n=[-1], u_give_mm_per_n=[-1])
numbers(RIG.between, {"low_mm": 1, "high_mm": 2}, "mm", low_mm=[0, -1], high_mm=[0, -1])
row(RIG.reading, {}, "deflection_mm", -1, bw.InvalidInputError, "mm")
row(RIG.reading, {}, "deflection_mm", NAN, bw.InvalidInputError, "mm")
row(RIG.reading, {}, "deflection_mm", {}, bw.InvalidInputError, "mm")
row(RIG.reading, {}, "deflection_mm", [[1.0], "x"], bw.InvalidInputError, "mm")
numbers(RIG.reading, {"deflection_mm": 1}, "mm", u_mm=[0, -1])
things(RIG.expected, {"brace": BRACE}, "brace")
things(RIG.modulus, {"brace": BRACE, "reading": READING}, "brace", "reading")
row(RIG.calibrated, {}, "readings", [(BAR, 0.0, 1.0)], bw.InvalidInputError, "N", said="load_n of bar reading 1")
row(RIG.calibrated, {}, "readings", [(BAR, 10.0, -1.0)], bw.InvalidInputError, "mm", said="deflection_mm of bar reading 1")
row(RIG.calibrated, {}, "readings", [], bw.InvalidInputError)
row(RIG.calibrated, {}, "readings", 5, TypeError)
numbers(bw.Bar, {"modulus_gpa": 200, "width_mm": 12, "height_mm": 6}, "mm", width_mm=[0, -1, 1e-9], height_mm=[0, 1e9])
numbers(bw.Bar, {"modulus_gpa": 200, "width_mm": 12, "height_mm": 6}, "GPa", modulus_gpa=[0, -1, 1e9])
numbers(bw.Bar, {"modulus_gpa": 200, "width_mm": 12, "height_mm": 6}, "", poisson=[-1, 1])

numbers(bw.Goal.stiffness, {"x_mm": 210, "low_n_m2": 10, "high_n_m2": 20}, "N m2", low_n_m2=[0, -1, INF], high_n_m2=[0, -1])
numbers(bw.Goal.frequency, {"low_hz": 500, "high_hz": 600}, "Hz", low_hz=[0, -1], high_hz=[0, INF])
numbers(bw.Goal.mass, {"low_g": 15, "high_g": 16}, " g", low_g=[0, -1], high_g=[0, INF])

cut = {"start": BLANK, "target": BRACE, "max_depth_mm": 1}
numbers(bw.plan_passes, cut, "mm", max_depth_mm=[0, -1, INF, 1e-9], gouge_radius_mm=[0, -1], smallest_safe_height_mm=[0, -1])
numbers(bw.plan_passes, {**cut, "side": "symmetric"}, "mm", "from 1 to 419 mm", middle_mm=[0, -1, 420, INF])
words(bw.plan_passes, cut, side="upper")
row(bw.plan_passes, {**cut, "start": SHAPE}, "start", SHAPE, TypeError, "Blank or a Brace")
things(bw.plan_passes, cut, "target")
lists(bw.plan_passes, cut, "mm", stations_mm=[[0, 500], [5, 4], [1]])
row(bw.plan_passes, cut, "untouched", [(50, 40)], bw.InvalidInputError, "mm")
row(bw.plan_passes, cut, "untouched", [(-1, 40)], bw.InvalidInputError, "mm")
row(bw.plan_passes, cut, "untouched", 7, TypeError)
numbers(PLAN.at_depth, {"depth_mm": 1}, "mm", depth_mm=[-1, INF])

table = {"plan": PLAN, "goal": GOAL}
numbers(bw.Bench, table, "mm", scatter_mm=[-1, 10], smallest_shaving_mm=[-1], u_calliper_mm=[0, -1], deepest_pass_mm=[0, -1, INF])
numbers(
    bw.Bench,
    table,
    "",
    overshoot=[0, -0.1, 0.9],
    bias_fraction=[-0.9, 2],
    scatter_fraction=[-1, 2],
    shavings_lost=[-1, 0.9],
    enough=[-1, 0, 0.4, 2],
    u_bias_fraction=[-0.1, 0.6],
    hand_passes=[0, -1, INF],
    u_tap_fraction=[0, -1, 0.5],
    least_margin=[0, 0.9, INF],
)
numbers(bw.Bench, table, " g", u_scale_g=[0, -1])
numbers(bw.Bench, table, "%", rh_low_percent=[-1, 101], rh_high_percent=[-1, 39, 101])
numbers(bw.Bench, table, "MPa", bending_strength_mpa=[0, -1, INF])
STRONG = {**table, "bending_strength_mpa": 70}
for bad in (0, -1, INF, NAN):
    row(bw.Bench, STRONG, "working_moment_n_m", bad, bw.InvalidInputError, "N m", "must be")
row(bw.Bench, STRONG, "working_moment_n_m", [], TypeError, "N m")
things(bw.Bench, table, "costs")
numbers(CARVING.next_pass, {}, "%", rh_percent=[-1, 101, INF])
row(CARVING.what_to_measure, {}, "minutes", {"pray": 1.0}, bw.InvalidInputError, "pray", "read the dial")
row(CARVING.what_to_measure, {}, "minutes", {"weigh the brace": -1.0}, bw.InvalidInputError, "minutes of weigh the brace", "min")
numbers(CARVING.after_look, {}, " g", brace_g=[0, -1, 0.0166, 500])
numbers(CARVING.after_look, {}, "Hz", frequency_hz=[0, -1, 20, 1e5, INF])
numbers(CARVING.after_pass, {"aimed_mm": 1}, "Hz", frequency_hz=[0, -1, 20, 1e5, INF])
AT = {"x_mm": [100, 210], "height_mm": [13, 15]}
lists(CARVING.after_look, AT, "mm", x_mm=[[210, 100], [-5, 100]], height_mm=[[1.3, 15], [13]])
things(bw.Bench, table, "plan", "goal")
row(bw.Bench, table, "deepest_pass_mm", 0.1, bw.InvalidInputError, "mm", "smallest_shaving_mm")
for no_number in (True, np.bool_(True), 1 + 0j, np.complex128(0.5)):
    row(bw.Bench, table, "enough", no_number, TypeError, "a plain number, not")
for no_list in (np.array([True, False, True]), np.array([17, 16, 17], complex)):
    row(bw.Blank.measured, measured, "height_mm", no_list, bw.InvalidInputError, "mm")
numbers(BENCH.after_cap, {}, " g", shavings_g=[-1, INF])
CUT = {"brace": BRACE, "goals": [GOAL], "bending_strength_mpa": 70}
numbers(bw.where_to_cut, CUT, "mm", deepest_pass_mm=[0, -1, INF], smallest_height_mm=[0, -1, 101], scatter_mm=[-1, 10])
numbers(bw.where_to_cut, CUT, "mm", smallest_shaving_mm=[-1, INF])
row(bw.where_to_cut, CUT, "deepest_pass_mm", 0.1, bw.InvalidInputError, "mm", "smallest_shaving_mm")
numbers(bw.where_to_cut, CUT, "", enough=[0, 0.4, 1.1])
numbers(bw.where_to_cut, CUT, "", overshoot=[0, 0.9], stiffness_ln=[-1, 0.6], bias_fraction=[-0.9, 2], least_margin=[0, INF])
numbers(bw.where_to_cut, CUT, "", scatter_fraction=[-1, 2])
for bad in (0, -1, INF, NAN):
    row(bw.where_to_cut, CUT, "working_moment_n_m", bad, bw.InvalidInputError, "N m", "must be")
numbers(bw.where_to_cut, CUT, "MPa", bending_strength_mpa=[0, -1, INF])
row(bw.where_to_cut, CUT, "goals", [], bw.InvalidInputError, "at least one")
row(bw.where_to_cut, CUT, "goals", [5], TypeError)
row(bw.where_to_cut, CUT, "places", [], bw.InvalidInputError, "from 1 to 40")
LONG = [bw.Place("it", from_mm=10, to_mm=900)]
row(bw.where_to_cut, CUT, "places", LONG, bw.InvalidInputError, "mm", said="to_mm of places[0]")
things(bw.where_to_cut, CUT, "brace")
numbers(bw.Place, {"name": "it", "from_mm": 10, "to_mm": 60}, "mm", from_mm=[-1, INF], to_mm=[0, 12, INF])
LOTS = {"plan": PLAN, "rig": RIG, "modulus_gpa": [10, 11, 12], "window": WINDOW}
numbers(bw.rough_carve, LOTS, "", level=[0, 0.9], blank_level=[0, 1.1], u_modulus=[0, 0.9])
numbers(bw.rough_carve, LOTS, "mm", machine_mm=[-1, 4], u_dial_mm=[0, -1, 2])
counts(bw.rough_carve, LOTS, "most_grades")
row(bw.rough_carve, LOTS, "most_grades", 0, bw.InvalidInputError, "from 1 to 12")
lists(bw.rough_carve, LOTS, "GPa", modulus_gpa=[[11], [11, -1], [11, NAN], [11, 900]])
row(bw.rough_carve, LOTS, "window", bw.Window(0.01, 0.011), bw.InvalidInputError, "no blank of this lot")
things(bw.rough_carve, LOTS, "plan", "rig", "window", "rule")
STRIP = {"from_mm": 10, "to_mm": 200, "width_mm": 4, "height_mm": 6, "modulus_gpa": 11, "density_kg_m3": 400}


def mended(**how):
    return bw.repairs(BRACE, GOAL, {"sister": bw.Remedy.beside(**how)})


def capped(**how):
    return bw.repairs(BRACE, GOAL, {"cap": bw.Remedy.on_crest(**how)})


for repaired in (mended, capped):
    numbers(repaired, STRIP, "mm", from_mm=[-1, 500], to_mm=[0, 500], width_mm=[0, 101], height_mm=[0, 51], feather_mm=[-1, 96])
    numbers(repaired, STRIP, "GPa", modulus_gpa=[0, 400])
    numbers(repaired, STRIP, "kg/m3", density_kg_m3=[0, 9000])
numbers(bw.Remedy.lighter_strings, {}, "", tension_ratio=[0, 0.1, 1.1])
REPAIR = {"brace": BRACE, "goal": GOAL, "remedies": {"less pull": bw.Remedy.lighter_strings(tension_ratio=0.9)}}
row(bw.repairs, REPAIR, "remedies", {}, bw.InvalidInputError, "at least one")
row(bw.repairs, REPAIR, "remedies", {"it": 7}, TypeError, said="Remedy")
row(bw.repairs, REPAIR, "goal", bw.Goal.mass(low_g=5, high_g=6), bw.InvalidInputError, "reading on a rig")
CAPS = {"wide": bw.Remedy.on_crest(**STRIP)}
row(bw.repairs, REPAIR, "remedies", CAPS, bw.InvalidInputError, "plane a flat there first", said="width_mm of the wide")
things(bw.repairs, REPAIR, "brace", "goal")
SHOP = {}
numbers(bw.ShopSettings, SHOP, "mm", knot_length_mm=[0, -1, 1e3], dial_repeat_mm=[-1, 2], reseat_mm=[-1, 2], dial_step_mm=[-1, 2])
numbers(bw.ShopSettings, SHOP, "mm", hand_length_mm=[0, -1, INF], hand_mm=[-1, 4])
numbers(
    bw.ShopSettings,
    SHOP,
    "",
    modulus_between=[-0.1, 0.6],
    modulus_along=[-0.1, 0.4],
    run_out=[-0.1, 0.6],
    knots=[-1, 21, INF],
    knot_run_out=[-0.1, 1.1],
    density_between=[-0.1, 0.4],
    hand_bias=[-0.6, 1.1],
    hand_between=[-0.1, 0.6],
    hand_scatter=[-0.1, 0.6],
    hand_pass=[-0.1, 0.6],
    shavings_lost=[-0.1, 0.6],
)
numbers(bw.ShopSettings, SHOP, " g", scale_step_g=[-1, 11])
numbers(bw.ShopSettings, SHOP, "%", moisture_percent=[-1, 6])
counts(bw.ShopSettings, SHOP, "readings", "most_passes")
row(bw.ShopSettings, SHOP, "readings", 0, bw.InvalidInputError, "from 1 to 100")
row(bw.ShopSettings, SHOP, "most_passes", 0, bw.InvalidInputError, "from 1 to 100")
lists(bw.ShopSettings, SHOP, "mm", modulus_length_mm=[[60], [100, 60], [0, 10], [1, 2, 3]])
lists(bw.ShopSettings, SHOP, "", shear_ratio=[[0.08, 0.04], [0, 1]], across_ratio=[[0.06, 0.03], [NAN, 0.06]])
lists(bw.ShopSettings, SHOP, "mm/N", give_mm_per_n=[[0.2, 0.1], [-1, 0]])
words(bw.ShopSettings, SHOP, beam="solid")
RUN = {"plan": PLAN, "rig": RIG, "window": WINDOW, "policy": bw.ChanceRule(), "count": 2}
counts(bw.virtual_shop, RUN, "count", "seed")
row(bw.virtual_shop, RUN, "count", 0, bw.InvalidInputError, "from 1 to 1000000")
things(bw.virtual_shop, RUN, "plan", "rig", "window", "settings")
row(bw.virtual_shop, RUN, "policy", bw.Way.book(depth_mm=500), bw.InvalidInputError, "mm", said="depth_mm")
numbers(bw.Way.book, {}, "mm", depth_mm=[-1])
for name, bad, unit in (
    ("overshoot", 0, "alpha"),
    ("enough", 0.2, "enough"),
    ("deepest_pass_mm", 0, "mm"),
    ("smallest_shaving_mm", -1, "mm"),
    ("modulus_ln", 2, "modulus_ln"),
    ("bias_fraction", 2, "bias_fraction"),
    ("u_bias_fraction", 0.9, "u_bias_fraction"),
    ("scatter_fraction", -1, "scatter_fraction"),
    ("scatter_mm", 9, "mm"),
    ("hand_passes", 1, "hand_passes"),
    ("slope_doubt", 2, "slope_doubt"),
    ("u_scale_g", 0, " g"),
):
    row(bw.virtual_shop, RUN, "policy", bw.ChanceRule(**{name: bad}), bw.InvalidInputError, unit, said=unit.strip())
numbers(CARVING.after_pass, {"aimed_mm": 1}, " g", shavings_g=[-1, INF, 500], brace_g=[0, -1, 0.0166, 1e-200, 500])
numbers(CARVING.after_pass, {}, "mm", aimed_mm=[0, -1, 1e9, INF])
lists(
    CARVING.after_pass,
    {"aimed_mm": 1, "x_mm": [100, 200], "height_mm": [12, 12]},
    "mm",
    x_mm=[[200, 100], [1]],
    height_mm=[[1], [12, -1], [12, 900], [12, 0]],
)

numbers(bw.carve_to, {"brace": BRACE, "goal": GOAL, "vary": "scallop depth"}, "mm", smallest_safe_height_mm=[0, -1])
numbers(bw.carve_to, {"brace": BRACE, "goal": GOAL, "vary": "scallop depth"}, "", tolerance=[0, -1, 1])
words(bw.carve_to, {"brace": BRACE, "goal": GOAL, "vary": "scallop depth"}, vary="girth")
things(bw.carve_to, {"brace": BRACE, "goal": GOAL, "vary": "scallop depth"}, "brace", "goal")
things(bw.copy_stiffness, {"pleased": BRACE, "stick": BLANK, "rig": RIG}, "pleased", "stick", "rig")
four = {"brace": BRACE, "span_mm": [380, 300, 380], "load_n": [10, 10, 20], "deflection_mm": [0.5, 0.3, 1.0]}
lists(bw.fit_readings, four, "mm", span_mm=[[380], [380, -1, 380], [380, NAN, 380]], deflection_mm=[[0.5], [0.5, 0, 1]])
lists(bw.fit_readings, four, " N", load_n=[[10], [10, -1, 20]])
words(bw.fit_readings, four, beam="plank")

loose = {"brace": BRACE, "span_mm": 380, "modulus_spread": 0.1, "density_spread": 0.05, "draws": 200}
row(bw.tolerance, loose, "span_mm", -1, bw.InvalidInputError, "mm")
row(bw.tolerance, loose, "span_mm", "5 furlongs", bw.InvalidInputError, "furlongs")
row(bw.tolerance, loose, "draws", -1, bw.InvalidInputError, "whole number")
row(bw.tolerance, loose, "percent", [101], bw.InvalidInputError, "from 0 to 100")
row(LOT.along, {}, "stations", "many", TypeError)
room = {"area_mm2": np.ones((len(LOT), 5)), "i_centroid_mm4": np.ones((len(LOT), 5)), "ei_n_m2": np.ones((len(LOT), 5))}
room["mass_g"] = np.ones(len(LOT))
for name in room:
    row(LOT.along_into, room, name, [1.0, 2.0], bw.InvalidInputError, "float64")
    row(LOT.along_into, room, name, np.ones((len(LOT), 5), "float32"), bw.InvalidInputError, "float64")
    row(LOT.along_into, room, name, np.ones((len(LOT), 10))[:, ::2], bw.InvalidInputError, "gaps")
row(LOT.along_into, room, "ei_n_m2", np.ones((len(LOT), 4)), bw.InvalidInputError)
row(LOT.along_into, room, "area_mm2", np.ones((len(LOT) + 1, 5)), bw.InvalidInputError, "one a brace")
row(LOT.three_point_mm_per_n, {"span_mm": 380}, "out", np.ones(len(LOT) + 1), bw.InvalidInputError)
row(LOT.three_point_mm_per_n, {"span_mm": 380}, "out", "here", bw.InvalidInputError, "float64")
row(BRACE.drawn, {}, "x_mm", [0.0, 5000.0], bw.InvalidInputError, "mm", said="x_mm[1]")
row(LOT.three_point_mm_per_n, {}, "span_mm", [0, 1], bw.InvalidInputError, "mm")

numbers(bw.emc_percent, {"temperature_c": 20, "rh_percent": 50}, "RH", rh_percent=[-1, 101])
numbers(bw.emc_percent, {"temperature_c": 20, "rh_percent": 50}, "C", temperature_c=[-60, 500])
numbers(bw.rh_for_emc_percent, {"temperature_c": 20, "mc_percent": 8}, "MC", mc_percent=[-1, 90])
numbers(bw.at_moisture, {"at_12": 10, "green": 8, "mc_percent": 8}, "", at_12=[0, -1], green=[0])
numbers(bw.strength_temperature_factor, {"temperature_c": 20}, "C", temperature_c=[-51, 51])
numbers(bw.modulus_temperature_factor, {"temperature_c": 20}, "C", temperature_c=[-51, 51])
numbers(bw.density_from_specific_gravity, {"specific_gravity": 0.4}, "", specific_gravity=[0, 2])
numbers(bw.hankinson, {"parallel": 10, "perpendicular": 1, "angle_deg": 10}, "deg", angle_deg=[-1, 91])
numbers(
    bw.hankinson, {"parallel": 10, "perpendicular": 1, "angle_deg": 10}, "", parallel=[0], perpendicular=[-1], exponent=[0, 9]
)
numbers(bw.slope_of_grain_factor, {"slope": 0.05}, "", slope=[1])
numbers(bw.shear_free_factor, {"e_over_g": 15, "span_over_depth": 20}, "", e_over_g=[0], span_over_depth=[-1])
row(bw.Wood.published, {}, "name", "Stika", bw.InvalidInputError, "Sitka spruce", said="wood")
numbers(bw.Wood.custom, {"name": "x", "density_kg_m3": 400, "modulus_l_gpa": 11}, "kg/m3", density_kg_m3=[0, 1e5])
numbers(bw.Wood.custom, {"name": "x", "density_kg_m3": 400, "modulus_l_gpa": 11}, "GPa", modulus_l_gpa=[0, 1e5])
numbers(WOOD.at_moisture, {"mc_percent": 8}, "MC", mc_percent=[-1, 31])
numbers(
    WOOD.size_change_mm,
    {"size_mm": 10, "from_percent": 6, "to_percent": 8},
    "",
    size_mm=[0, -1],
    from_percent=[-1, 50],
    to_percent=[50],
)
row(bw.inches_64, {}, "length_mm", 1e9, bw.InvalidInputError, "mm")
row(bw.inches_64, {"length_mm": 5}, "rounding", "down", bw.InvalidInputError, "up")
for parse in (bw.parse_length_mm, bw.parse_force_n, bw.parse_frequency_hz, bw.parse_mass_g):
    row(parse, {"text": "5"}, "text", 5, TypeError)

numbers(bw.Unknown.log_normal, {"median": 11, "sd_ln": 0.1}, "", median=[0, -1, INF], sd_ln=[-1, 4])
numbers(bw.Unknown.at_least_zero, {"mean": 0, "sd": 0.1}, "", mean=[-1], sd=[-1, INF])
numbers(bw.Hand, {}, "", bias_fraction=[-0.9, 2], scatter_fraction=[-0.1, 2])
numbers(bw.Hand, {}, "mm", scatter_mm=[-1, 9])
numbers(
    bw.KnownHand,
    {},
    "",
    bias_fraction=[-0.9, 2],
    u_bias_fraction=[-0.1, 0.9],
    scatter_fraction=[-0.1, 2],
    hand_passes=[0, 3, INF],
)
numbers(bw.KnownHand, {}, "mm", scatter_mm=[-1, 9])
passes_taken = {"aim_mm": [1, 2], "taken_mm": [1.1, 1.9], "u_mm": 0.03}
lists(bw.KnownHand().after, passes_taken, "mm", aim_mm=[[0, 1], [-1, 1]], taken_mm=[[-1, 1], [1, 1e9]], u_mm=[[0, 1], [99, 1]])
STRIP_BRACE = bw.Brace.uncarved(bw.Blank(WOOD, length_mm=400, width_mm=8, height_mm=12))
on_top = {"brace": STRIP_BRACE, "top": WOOD, "thickness_mm": 2.8, "width_mm": 40, "grain_angle_deg": 45}
numbers(bw.Strip, on_top, "mm", thickness_mm=[0, 0.1, 40], width_mm=[0, 9, 1e4], length_mm=[399, 401, 1e4])
numbers(bw.Strip, on_top, "deg", grain_angle_deg=[200])
things(bw.Strip, on_top, "brace", "top")
STRIP = bw.Strip(**on_top)
pressed = {"load_n": 20, "at_mm": 200}
lists(STRIP.bend, pressed, "N", load_n=[[INF], [1e9], [1, 2]])
row(STRIP.bend, pressed, "read_mm", [1.0] * 3000, bw.InvalidInputError, "at most")
lists(STRIP.bend, pressed, "mm", at_mm=[[-1], [401]], read_mm=[[-1], [401], []])
numbers(STRIP.bend, pressed, "mm", pad_mm=[0, 1e4])
row(STRIP.bend, pressed, "on", "side", bw.InvalidInputError, "crest")
numbers(STRIP.section, {"x_mm": 100}, "mm", width_mm=[0, -1])
stays = {**pressed, "bending_strength_mpa": 65, "shear_strength_mpa": 7}
numbers(STRIP.margins, stays, "", years=[0, 1e4], least_margin=[0.5, 1e3])
numbers(STRIP.margins, stays, "mm", lining_mm=[0, 1e3])
numbers(STRIP.margins, stays, "MPa", bending_strength_mpa=[0, -1, 1e4], shear_strength_mpa=[0, -1, 1e4])
read_twice = {"before_mm": 1.9, "after_mm": 1.0, "u_deflection_mm": 0.006, "at_mm": 200}
lower = STRIP_BRACE.with_profile(STRIP_BRACE.profile.with_ends(length_mm=60, height_mm=6))
carved_twice = {"carved": lower, "before_mm": 0.99, "after_mm": 1.0, "u_deflection_mm": 0.006, "at_mm": 200}
numbers(STRIP.width_by_gluing, read_twice, "mm", before_mm=[0, 0.9], after_mm=[0, 2])
for by, call in ((STRIP.width_by_gluing, read_twice), (STRIP.width_by_carving, carved_twice)):
    numbers(by, call, "mm", before_mm=[0, -1], after_mm=[0, -1], u_deflection_mm=[0, -1], at_mm=[-1, 500], pad_mm=[0, 1e4])
    numbers(by, call, "N", load_n=[0, -1])
    numbers(by, call, "", u_load=[-0.1, 1], plate_spread=[-0.1, 2])
    numbers(by, call, "mm/N", give_mm_per_n=[-1, 2], u_give_mm_per_n=[-1, 2])
row(STRIP.width_by_carving, carved_twice, "after_mm", 0.9, bw.InvalidInputError, "deflects more")
things(STRIP.width_by_carving, carved_twice, "carved")
for other in (STRIP_BRACE, bw.Brace.uncarved(bw.Blank(WOOD, length_mm=390, width_mm=8, height_mm=12)),
              bw.Brace.uncarved(bw.Blank(WOOD, length_mm=400, width_mm=8, height_mm=13)),
              bw.Brace.uncarved(bw.Blank(WOOD.with_modulus_l_gpa(9), length_mm=400, width_mm=8, height_mm=11))):  # fmt: skip
    row(STRIP.width_by_carving, carved_twice, "carved", other, bw.BracewrightError, "carved")
numbers(STRIP.margins, stays, "mm", flange_mm=[0, -1, 0.5, 1.26 * STRIP.width_mm])
numbers(STRIP.sprung, {"dish_radius_mm": 8000}, "mm", dish_radius_mm=[0, 10], flange_mm=[0, -1, 0.5, 1e4])
row(STRIP.sprung, {"dish_radius_mm": 8000}, "shape", "flat", bw.InvalidInputError, "spherical")
lapped = {"brace": STRIP_BRACE, "at_mm": 200, "angle_deg": 98, "bending_strength_mpa": 65}
numbers(bw.half_laps, lapped, "mm", at_mm=[-1, 500], cap_mm=[0, 50])
numbers(bw.half_laps, lapped, "deg", angle_deg=[0, 180])

shape4 = {"length_mm": 505, "upper_bout_mm": 292, "waist_mm": 245, "lower_bout_mm": 400}
numbers(
    bw.Outline.from_bouts, shape4, "mm", length_mm=[0, -1, 10, 1e5], upper_bout_mm=[0, -1, 1e5], lower_bout_mm=[0, -1, 1e5],
    waist_mm=[0, -1, 300], upper_at_mm=[0, -1, 400], waist_at_mm=[0, 450], lower_at_mm=[0, 600],
)  # fmt: skip
numbers(bw.Outline.from_bouts, shape4, "", neck_fullness=[0, 1, -1], tail_fullness=[0, 1, -1])
OUTLINE = bw.Outline.from_bouts(**shape4)
round_it = {"x_mm": [0, 100, 100, 0], "y_mm": [0, 0, 100, 100]}
bad_x, bad_y = [[0, 1], [0, 100, INF, 0], []], [[0, 1], [0, NAN, 1, 1], []]
lists(bw.Outline.from_points, round_it, "mm", x_mm=bad_x, y_mm=bad_y)
row(bw.Outline.from_points, round_it, "x_mm", [0, 0, 0, 0], bw.InvalidInputError, "at least 3", said="points")
numbers(bw.Outline.from_points, round_it, "deg", corner_deg=[-1, 200])
halves = {"y_mm": [0, 100, 300], "half_width_mm": [0, 80, 0]}
lists(bw.Outline.from_half_widths, halves, "mm", y_mm=[[0, 100], [0, 300, 100], [0, NAN, 1]], half_width_mm=[[0, 80], [0, -1, 0]])
for read in (bw.Outline.from_csv, bw.Outline.from_svg, bw.Outline.from_dxf):
    words(read, {"path": "none.txt"}, neck="up")
    words(read, {"path": "none.txt"}, seen_from="above")
numbers(OUTLINE.points, {}, "mm", tolerance_mm=[0, -1, 100])
for ask in (OUTLINE.contains, OUTLINE.distance_mm):
    numbers(ask, {"x_mm": 0, "y_mm": 100}, "mm", x_mm=[INF], y_mm=[-INF])
chord = {"x_mm": 0, "y_mm": 100, "angle_deg": 45}
numbers(OUTLINE.chord, chord, "mm", inset_mm=[-1, 1e3])
numbers(OUTLINE.chord, chord, "deg", angle_deg=[1e3])
row(OUTLINE.chord, chord, "x_mm", 300, bw.InvalidInputError, "outside the outline", said="the place")
row(OUTLINE.chord, chord, "y_mm", -20, bw.InvalidInputError, "outside the outline", said="the place")
numbers(OUTLINE.inset, {"inset_mm": 5}, "mm", inset_mm=[-1, 1e3, 190])
numbers(bw.SoundHole.round, {"y_mm": 150, "diameter_mm": 100}, "mm", diameter_mm=[0, -1, 1e3], x_mm=[INF], y_mm=[INF])
oval = {"y_mm": 150, "width_mm": 100, "length_mm": 80}
numbers(bw.SoundHole.oval, oval, "mm", width_mm=[0, -1, 1e3], length_mm=[0, -1, 1e3], x_mm=[INF], y_mm=[INF])
HOLE = bw.SoundHole.round(y_mm=150, diameter_mm=100)
numbers(HOLE.points, {}, "mm", tolerance_mm=[0, -1, 100])
numbers(bw.PlateThickness.even, {"thickness_mm": 2.8}, "mm", thickness_mm=[0, -1, 50])
gauged = {"x_mm": [0, 50, 0], "y_mm": [0, 0, 50], "thickness_mm": [2.8, 2.7, 2.6]}
lists(
    bw.PlateThickness.measured, gauged, "mm", x_mm=[[0, 1], [0, INF, 1], []], y_mm=[[0], [0, NAN, 2]],
    thickness_mm=[[2.8], [0, 1, 2], [2.8, NAN, 2]],
)  # fmt: skip
EVEN = bw.PlateThickness.even(2.8)
numbers(EVEN.with_thin_edge, {"off_mm": 0.3, "over_mm": 40}, "mm", off_mm=[-1, 2.7], over_mm=[0, -1, 1e3])
numbers(bw.Ending.tucked, {}, "mm", pocket_mm=[-1, 50])
numbers(bw.Ending.feathered, {}, "mm", gap_mm=[-1, 50])
numbers(bw.Ending.short, {}, "mm", by_mm=[-1, 1e4])
numbers(bw.Ending.let_in, {"into": "A"}, "mm", depth_mm=[-1, 50])
put = {"name": "A", "brace": BRACE, "start_mm": (-200, 330), "end_mm": (200, 330)}
lists(bw.PlacedBrace, put, "mm", start_mm=[[0], [NAN, 0], [1, 2, 3], [-300, 330], [199, 330]], end_mm=[[0], [INF, 0]])
numbers(bw.PlacedBrace, put, "mm", offset_mm=[-1, 100])
words(bw.PlacedBrace, put, role="leggy")
things(bw.PlacedBrace, put, "brace", "at_start", "at_end")
row(bw.PlacedBrace, put, "name", "", bw.InvalidInputError, "characters")
row(bw.PlacedBrace, put, "name", "x" * 99, bw.InvalidInputError, "characters")
numbers(bw.LapAt, {"crest_cut": "A", "glue_cut": "B"}, "mm", cap_mm=[-1, 50])
flat = {"name": "P", "wood": WOOD, "corners_mm": [(-50, 300), (50, 300), (50, 340), (-50, 340)], "thickness_mm": 2.5}
numbers(bw.PlatePart, flat, "mm", thickness_mm=[0, -1, 50])
numbers(bw.PlatePart, flat, "deg", grain_angle_deg=[200])
words(bw.PlatePart, flat, role="plate")
things(bw.PlatePart, flat, "wood")
for corners in ([(0, 0), (1, 1)], [(0, 0, 0)] * 3, [(0, 0), (NAN, 1), (5, 5)], "square"):
    row(bw.PlatePart, flat, "corners_mm", corners, bw.InvalidInputError)
PINS = bw.Bridge.pin(
    saddle_height_mm=12.5, end_height_mm=9, end_behind_mm=16, foot_length_mm=152, foot_width_mm=33, saddle_from_front_mm=11,
    top_thickness_mm=2.8,
)  # fmt: skip
stood = {"bridge": PINS, "y_mm": 290}
numbers(
    bw.PlacedBridge, stood, "mm", slant_mm=[-50, 50], spread_mm=[-1, 0, 200], hole_mm=[0, -1, 50], scale_mm=[0, -1, 9e3],
    x_mm=[INF], y_mm=[INF],
)  # fmt: skip
numbers(bw.PlacedBridge, stood, "deg", turn_deg=[90, -90])
counts(bw.PlacedBridge, stood, "strings", "body_fret")
things(bw.PlacedBridge, stood, "bridge")
STOOD = bw.PlacedBridge(PINS, y_mm=290)
around = {"outline": OUTLINE, "hole": HOLE, "bridge": STOOD}
numbers(
    bw.x_pattern, around, "mm", lining_mm=[-1, 99], crossing_to_hole_mm=[0, -1, 500], leg_width_mm=[0, -1, 99],
    scallop_depth_mm=[-1, 99], transverse_width_mm=[-1, 99], graft_mm=[-1, 99], bridge_plate_mm=[-1, 99], cap_mm=[-1, 99],
    bridge_plate_length_mm=[0, -1, 999],
)  # fmt: skip
numbers(bw.x_pattern, around, "deg", angle_deg=[0, 180])
counts(bw.x_pattern, around, "tone_bars", "fingers")
words(bw.x_pattern, around, tone_bars_from="left")
things(bw.x_pattern, around, "outline", "hole", "bridge", "wood", "plate_wood")
numbers(
    bw.fan_pattern, around, "mm", lining_mm=[-1, 99], spacing_mm=[0, -1, 999], focus_mm=[0, -1, 1e9],
    transverse_from_hole_mm=[0, -1, 999],
)  # fmt: skip
counts(bw.fan_pattern, around, "fans")
things(bw.fan_pattern, around, "outline", "hole", "bridge", "wood")
XS = bw.x_pattern(**around)
bare = {"name": "T", "outline": OUTLINE, "wood": WOOD, "thickness": 2.8}
numbers(bw.Layout, bare, "mm", lining_mm=[-1, 99], arch_radius_mm=[0, -1, 10], thickness=[0, -1, 99])
numbers(bw.Layout, bare, "deg", grain_angle_deg=[400])
things(bw.Layout, bare, "outline", "wood", "hole", "bridge", "pattern")
for blocks in ("neck_block_mm", "tail_block_mm"):
    lists(bw.Layout, bare, "mm", **{blocks: [[1], [NAN, 2], [1, 2, 3]]})
row(bw.Layout, bare, "neck_block_mm", [0, 10], bw.InvalidInputError, "mm")
row(bw.Layout, bare, "tail_block_mm", [50, -1], bw.InvalidInputError, "mm")
row(bw.Layout, bare, "name", "", bw.InvalidInputError, "characters")
TOP_ = bw.Layout(hole=HOLE, bridge=STOOD, pattern=XS, **bare)
numbers(TOP_.check, {}, "mm", u_position_mm=[-1, 99])
numbers(TOP_.check, {}, "deg", u_angle_deg=[-1, 99])
things(TOP_.check, {}, "limits")
things(TOP_.svg, {}, "report")
lists(TOP_.thickness_mm, {"x_mm": [0], "y_mm": [300]}, "mm", x_mm=[[0, 1], [NAN]], y_mm=[[0, 1], [INF]])
row(TOP_.thickness_mm, {"x_mm": [0], "y_mm": [300]}, "x_mm", [400], bw.InvalidInputError, "outside", said="the place")
row(TOP_.brace, {"name": "bass leg"}, "name", "soprano leg", bw.InvalidInputError, "must be one of")
numbers(
    bw.LayoutLimits, {}, "mm", pin_mm=[-1, 999], hole_mm=[-1, 999], plate_past_pins_mm=[-1, 999], lap_to_hole_mm=[-1, 999],
    tuck_mm=[-1, 999], binding_mm=[-1, 999], feather_mm=[-1, 999], joint_mm=[-1, 999], compensation_least_mm=[-99, 99],
    compensation_most_mm=[1, 99],
)  # fmt: skip
numbers(bw.LayoutLimits, {}, "", close_chance=[-1, 2])
row(bw.Layout.from_json, {"text": "{}"}, "text", "{}", bw.ReadingsError, "bracewright/layout")
row(bw.Pattern.from_json, {"text": "{}"}, "text", "[]", bw.ReadingsError, "bracewright/pattern")
# the whole top: coarse, for nothing here is solved that is wrong
PLAIN_TOP = bw.Layout(**bare)
coarse = {"layout": TOP_, "fineness": 0.25}
glued = {**coarse, "bridge_wood": WOOD, "bridge_thickness_mm": 9}
sprung = {**coarse, "rim": "elastic", "in_plane_n_mm2": 1, "turning_n": 10}
things(bw.Top, coarse, "layout", "bridge_wood")
words(bw.Top, coarse, rim="loose")
row(bw.Top, coarse, "rim", 5, TypeError, "str")
numbers(bw.Top, coarse, "", "from 0.25 to 4", fineness=[0, -1, 0.2, 4.1, INF])
numbers(bw.Top, sprung, "", "from 0 to", in_plane_n_mm2=[-1, 1e9, INF], turning_n=[-1, 1e12, INF])
row(bw.Top, sprung, "in_plane_n_mm2", -1, bw.InvalidInputError, "N/mm2")
row(bw.Top, sprung, "turning_n", -1, bw.InvalidInputError, "-1 N")
numbers(bw.Top, glued, "mm", "from 1 to 30", bridge_thickness_mm=[0, -1, 99, INF])
numbers(bw.Top, glued, " g", "from 1 to 200", bridge_mass_g=[0, -1, 999, INF])
for arg in ("fineness", "in_plane_n_mm2", "turning_n"):
    row(bw.Top, sprung, arg, "5 furlongs", TypeError, "plain number")
# a rim of springs without springs, springs on a rim that has none
row(bw.Top, coarse, "rim", "elastic", bw.InvalidInputError, "in_plane_n_mm2", "turning_n", "at least one")
row(bw.Top, coarse, "in_plane_n_mm2", 1, bw.InvalidInputError, "elastic")
row(bw.Top, {**coarse, "rim": "clamped"}, "turning_n", 1, bw.InvalidInputError, "elastic")
# a bridge wood without thickness and the other way about, mass alone, a bridge that is not there
row(bw.Top, coarse, "bridge_wood", WOOD, bw.InvalidInputError, "bridge_thickness_mm", "both")
row(bw.Top, coarse, "bridge_thickness_mm", 9, bw.InvalidInputError, "bridge_wood", "both")
row(bw.Top, coarse, "bridge_mass_g", 30, bw.InvalidInputError, "bridge_wood")
row(bw.Top, glued, "layout", PLAIN_TOP, bw.InvalidInputError, "has none")

WHOLE, WHOLE_PLAIN = bw.Top(**coarse), bw.Top(PLAIN_TOP, fineness=0.25)
WHOLE_FREE = bw.Top(**coarse, rim="free")
ON_TOP = bw.TopLoad.weight(load_n=20, x_mm=0, y_mm=340)
WHOLE_UNDER, WHOLE_MODES = WHOLE.under([ON_TOP]), WHOLE.modes(2)
OFF_TOP = {"x = 300": (300, 340), "y = -1": (0, -1), "in the hole": (0, 150), "NaN": (NAN, 340), "inf": (0, INF)}
SQUARE = [(-50, 330), (50, 330), (50, 380), (-50, 380)]


def under_load(make, on=WHOLE):
    """A load says what is wrong with it once it is on a top."""
    return lambda **given: on.under([make(**given)])


weight = {"load_n": 20, "x_mm": 0, "y_mm": 340, "pad_mm": 20}
spread, line = {"load_n": 20, "corners_mm": SQUARE}, {"load_n": 20, "from_mm": (-50, 340), "to_mm": (50, 340)}
pulled = {"couple_n_m": 9, "pull_n": 700, "press_n": 0}
for make, good in ((bw.TopLoad.weight, weight), (bw.TopLoad.spread, spread), (bw.TopLoad.line, line)):
    numbers(under_load(make), good, " N", "from -100000 to 100000", load_n=[1e6, -1e6, INF])
numbers(under_load(bw.TopLoad.weight), weight, "mm", "from 1 to 200", pad_mm=[0, -1, 999, INF])
for arg in ("x_mm", "y_mm"):
    row(bw.TopLoad.weight, weight, arg, "5 furlongs", bw.InvalidInputError, "must be one of")
    row(bw.TopLoad.weight, weight, arg, [], TypeError, "list")
for arg in ("from_mm", "to_mm"):
    for bad in ([0], (1, 2, 3), 5, [], "x", object()):
        row(under_load(bw.TopLoad.line), line, arg, bad, bw.InvalidInputError)
    for bad in ((300, 340), (NAN, 340), (0, -INF), (0, 150)):
        row(under_load(bw.TopLoad.line), line, arg, bad, bw.InvalidInputError, said="lies off the top")
row(under_load(bw.TopLoad.line), line, "to_mm", (100, 10), bw.InvalidInputError, said="lies off the top")
no_area = ([], [(0, 340)], [(0, 340), (1, 341)], [(0, 340)] * 3)
for bad in no_area[:3]:
    row(under_load(bw.TopLoad.spread), spread, "corners_mm", bad, bw.InvalidInputError, said="an area has 3 to 400")
for bad in (no_area[3], [(NAN, 1), (2, 3), (4, 5)], [(300, 300), (310, 300), (310, 310)]):
    row(under_load(bw.TopLoad.spread), spread, "corners_mm", bad, bw.InvalidInputError, said="the area lies off the top")
for bad in ("square", 5, object()):
    row(bw.TopLoad.spread, spread, "corners_mm", bad, TypeError)
numbers(under_load(bw.TopLoad.strings), pulled, " N", "from -10000 to 10000", pull_n=[1e5, -1e5, INF], press_n=[1e5, -1e5, INF])
for bad in (1e3, -1e3, NAN, INF):
    row(under_load(bw.TopLoad.strings), pulled, "couple_n_m", bad, bw.InvalidInputError, "N m", "from -200 to 200")
for bad in ("5 furlongs", [], object()):
    row(bw.TopLoad.strings, pulled, "couple_n_m", bad, TypeError, "N m")
# strings without a bridge, their turn without one
row(under_load(bw.TopLoad.strings, WHOLE_PLAIN), pulled, "couple_n_m", 9, bw.InvalidInputError, said="no bridge")
row(lambda loads: WHOLE_PLAIN.under(loads).bridge_turn_deg, {}, "loads", [ON_TOP], bw.InvalidInputError, said="no bridge")
things(bw.TopLoad.of_bridge, {}, "bridge_load")
# a top held nowhere has no deflection
row(WHOLE_FREE.under, {}, "loads", [ON_TOP], bw.InvalidInputError, "ask for its modes", said="the rim is free")
row(WHOLE_FREE.shaving, {"modes": 0}, "loads", [ON_TOP], bw.InvalidInputError, said="the rim is free")
row(WHOLE.under, {}, "loads", [], bw.InvalidInputError, "at least one")
for ask in (WHOLE.under, WHOLE.shaving):
    for bad in (5, "that one", [5], ON_TOP):
        row(ask, {}, "loads", bad, TypeError)
counts(WHOLE.modes, {}, "count")
for bad in (0, 41):
    row(WHOLE.modes, {}, "count", bad, bw.InvalidInputError, "from 1 to 40")

shaved = {"loads": [ON_TOP], "modes": 0}
counts(WHOLE.shaving, shaved, "modes")
row(WHOLE.shaving, shaved, "modes", 41, bw.InvalidInputError, "from 0 to 40")
numbers(WHOLE.shaving, shaved, "mm", "from 2 to 200", step_mm=[0, -1, 1, 201, INF])
for bad in ([0], (1, 2, 3), 5, "x", object()):
    row(WHOLE.shaving, shaved, "read_mm", bad, bw.InvalidInputError)
row(WHOLE.shaving, shaved, "loads", [], bw.InvalidInputError, "no modes are asked for")
row(WHOLE.shaving, shaved, "loads", [bw.TopLoad.own_weight()], bw.InvalidInputError, said="own weight")
row(WHOLE_PLAIN.shaving, shaved, "loads", [ON_TOP], bw.InvalidInputError, said="nothing is read")
WHOLE_SHAVED = WHOLE.shaving([ON_TOP], modes=0, step_mm=200)
words(WHOLE_SHAVED.plot, {}, of="mode 1")
row(WHOLE_SHAVED.plot, {}, "of", 5, TypeError)

here = {"x_mm": [0], "y_mm": [340]}
for ask in (WHOLE_UNDER.deflection_mm, WHOLE_UNDER.plate_stress_mpa, lambda **given: WHOLE_MODES.shape(0, **given)):
    lists(ask, here, "mm", x_mm=[[], [0, 1], ["x"]], y_mm=[[], [0, 1], ["x"]])
row(WHOLE_UNDER.plate_stress_mpa, here, "part", "5 furlongs", TypeError, "plain number")
numbers(WHOLE_UNDER.plate_stress_mpa, here, "", "from -1 to 1", part=[-1.1, 1.1, INF])
leg = {"name": "bass leg", "along_mm": [100]}
numbers(WHOLE_UNDER.brace_stress_mpa, leg, "", "from 0 to 1", part=[-0.1, 1.1, INF])
lists(WHOLE_UNDER.brace_stress_mpa, leg, "mm", along_mm=[[-1], [1e4], [NAN], [INF], "x"])
row(WHOLE_UNDER.brace_stress_mpa, leg, "name", "soprano leg", bw.InvalidInputError, "must be one of")
row(WHOLE_UNDER.brace_stress_mpa, leg, "name", 5, TypeError)
# a mode beyond the last
placed = {"mode": 0, "place_mm": (0, 340)}
of_a_mode = [(WHOLE_MODES.modal_mass_g, placed), (WHOLE_MODES.effective_area_cm2, placed), (WHOLE_MODES.drawn, {"mode": 0})]
for ask, good in (*of_a_mode, (WHOLE_MODES.shape, {"mode": 0, **here}), (WHOLE_MODES.plot, {"mode": 0})):
    counts(ask, good, "mode")
    row(ask, good, "mode", 2, bw.InvalidInputError, "0 to 1")
answers = {"place_mm": (0, 340), "frequency_hz": [100]}
lists(WHOLE_MODES.mobility_s_kg, answers, "Hz", frequency_hz=[[0], [-1], [NAN], [INF], [1e9], "x"])
numbers(WHOLE_MODES.mobility_s_kg, answers, "", "from 1 to 10000", quality=[0, -1, 1e6, INF])
for ask, good in (*of_a_mode[:2], (WHOLE_MODES.mobility_s_kg, answers)):
    for bad in ([0], (1, 2, 3), 5, "x", None):
        row(ask, good, "place_mm", bad, bw.InvalidInputError)


@pytest.mark.parametrize("x, y", OFF_TOP.values(), ids=OFF_TOP)
def test_a_place_off_the_top_is_said_and_carried(x, y):
    asks = [
        lambda: WHOLE.under([bw.TopLoad.weight(load_n=20, x_mm=x, y_mm=y)]),
        lambda: WHOLE.under([bw.TopLoad.line(load_n=20, from_mm=(x, y), to_mm=(0, 340))]),
        lambda: WHOLE.shaving([ON_TOP], read_mm=(x, y), modes=0),
        lambda: WHOLE_UNDER.deflection_mm([0, x], [340, y]),
        lambda: WHOLE_UNDER.plate_stress_mpa([0, x], [340, y]),
        lambda: WHOLE_MODES.shape(0, [0, x], [340, y]),
        lambda: WHOLE_MODES.modal_mass_g(0, (x, y)),
        lambda: WHOLE_MODES.effective_area_cm2(0, (x, y)),
        lambda: WHOLE_MODES.mobility_s_kg((x, y), [100]),
    ]
    for ask in asks:
        with pytest.raises(bw.InvalidInputError, match="lies off the top") as e:
            ask()
        np.testing.assert_equal((e.value.x_mm, e.value.y_mm), (x, y))


numbers(bw.arc_rise_mm, {"radius_mm": 8000, "chord_mm": 400}, "mm", radius_mm=[0, -1], chord_mm=[0, 1e5])
numbers(bw.arc_radius_mm, {"rise_mm": 2.5, "chord_mm": 400}, "mm", rise_mm=[0, 300], chord_mm=[0, -1])
numbers(bw.dish_curvature_per_m, {"radius_mm": 8000}, "mm", radius_mm=[0, -1])
widths = {"brace": STRIP_BRACE, "top": WOOD, "thickness_mm": 2.8, "width_mm": 40, "span_mm": 300, "grain_angle_deg": 0}
lists(bw.effective_widths, widths, "mm", width_mm=[[5], [1e4]], span_mm=[[1], [1e5]])

numbers(HAND.mean_mm, {"aim_mm": 1}, "mm", aim_mm=[-1, INF])
numbers(bw.Gauge, {}, "mm", repeat_mm=[-1], reseat_mm=[-1], resolution_mm=[-1], calibration_mm=[-1])
numbers(bw.Rule, {"alpha": 0.02, "deepest_mm": 8}, "", alpha=[0, 0.6], enough=[-1, 0.4, 2])
numbers(bw.Rule, {"alpha": 0.02, "deepest_mm": 8}, "mm", strong_mm=[-1, 1e9])
numbers(bw.Rule, {"alpha": 0.02, "deepest_mm": 8}, "mm", deepest_mm=[0, 1e9], deepest_pass_mm=[0, -1], smallest_shaving_mm=[-1])
counts(bw.Rule, {"alpha": 0.02, "deepest_mm": 8}, "draws", "seed")
numbers(bw.Costs, {"per_pass": 1, "short": 2, "over": 3}, "", per_pass=[-1], short=[-1], over=[INF])
numbers(bw.Window, {"low_mm": 1, "high_mm": 2}, "mm", low_mm=[0, -1, 2], high_mm=[0.5], target_mm=[3])
grid = {"e_gpa": [5, 25], "depth_mm": [0, 8], "stiffness_n_per_mm": [[20, 8], [90, 40]], "load_n": 20}
lists(bw.StiffnessTable, grid, "GPa", e_gpa=[[25, 5], [5], [0, 25]])
lists(bw.StiffnessTable, grid, "mm", depth_mm=[[8, 0], [8]])
for bad in ([[20, 8]], [[20, 8, 1], [90, 40, 1]], [[8, 20], [90, 40]], [[20, 8], [10, 40]], [[20, 8], [90, -1]], "table"):
    row(bw.StiffnessTable, grid, "stiffness_n_per_mm", bad, bw.InvalidInputError)
numbers(bw.StiffnessTable, grid, " N", load_n=[0, -1])
words(bw.StiffnessTable, grid, second="first")
falling = {"depth_mm": [0, 4], "compliance_mm_per_n": [0.4, 0.7], "load_n": 20}
lists(bw.ProportionalCurve, falling, "mm/N", compliance_mm_per_n=[[0.7, 0.4], [0.4], [0, 1]])
things(bw.Belief, {"e_gpa": ELEVEN, "second": ELEVEN, "hand": HAND}, "e_gpa", "second", "hand")
numbers(BELIEF.after_reading, {"deflection_mm": 0.8, "u_mm": 0.01}, "mm", deflection_mm=[0, -1], u_mm=[0, -1])
numbers(BELIEF.after_pass, {"aim_mm": 1}, "mm", aim_mm=[-1, INF])
row(BELIEF.after_pass, {"aim_mm": 1}, "measured_mm", [(1.0, 0.0)], bw.InvalidInputError, "mm", "above 0")
row(BELIEF.after_pass, {"aim_mm": 1}, "measured_mm", [1.0], TypeError)
numbers(BELIEF.after_depth_since, {"passes": 0, "depth_mm": 1, "u_mm": 0.1}, "mm", depth_mm=[-1, INF], u_mm=[0, -1])
counts(BELIEF.after_depth_since, {"depth_mm": 1, "u_mm": 0.1}, "passes")
row(BELIEF.after_depth_since, {"depth_mm": 1, "u_mm": 0.1}, "passes", 1, bw.InvalidInputError, "from 0 to 0")
row(BELIEF.posterior, {}, "response", BRACE, TypeError, "StiffnessTable")
counts(BELIEF.posterior, {"response": CURVE}, "draws", "seed")
row(BELIEF.posterior, {"response": CURVE}, "draws", 5, bw.InvalidInputError, "from 100")
things(BELIEF.advise, {"response": CURVE, "window": WINDOW, "rule": RULE}, "window", "rule")
closed = {"r": 0.3, "z": 2, "eps": 0.1, "s": 0.01, "g_per_mm": 0.1, "eta_mm": 0.1}
numbers(bw.d_max_closed_form, closed, "", eps=[-1], s=[-1], g_per_mm=[0, -1])
numbers(bw.alpha_from_costs, {"cost_short": 1, "cost_over": 2}, "", cost_short=[-1], cost_over=[0])

SAMPLES = np.sin(2 * np.pi * 100 / 8000 * np.arange(4000)) * np.exp(-np.arange(4000) / 800)
SOUND = bw.Sound.from_samples(SAMPLES, rate_hz=8000)
FOUND = bw.recording_modes(SOUND)
RING = bw.tap_modes(8000, SAMPLES)
STATE = bw.combined(RING)
BANDS = bw.bands("octave", low_hz=60)


def looks(call, good, *, taps=True, modes=True):
    """The options of the search for taps and for modes."""
    if modes:
        numbers(call, good, "Hz", low_hz=[0, -1, 990, INF], high_hz=[0, -1, 1e6])
        row(call, good, "most", 0, bw.InvalidInputError, "from 1 to 64")
        row(call, good, "most", 65, bw.InvalidInputError, "from 1 to 64")
        counts(call, good, "most")
        for bad in (0, -1, 1e-3, 61, NAN, INF):
            row(call, good, "longest_s", bad, bw.InvalidInputError, " s", "must be")
        row(call, good, "longest_s", "long", TypeError, "time")
    if taps:
        for arg, unit, bads in (
            ("bounce_ms", "ms", (5, -1, 1001, NAN)),
            ("skip_ms", "ms", (-1, 101, NAN)),
            ("range_db", "dB", (2, 81, NAN, -INF)),
        ):
            for bad in bads:
                row(call, good, arg, bad, bw.InvalidInputError, unit, "must be")
            row(call, good, arg, [], TypeError, unit)


row(bw.Sound.from_wav, {}, "source", 5, TypeError, "path")
row(bw.Sound.from_wav, {}, "source", [1.0], TypeError, "path")
row(bw.Sound.from_wav, {}, "source", b"", bw.ReadingsError, "empty", said="recording")
row(bw.Sound.from_wav, {"name": "plate.wav"}, "source", b"RIFF", bw.ReadingsError, "breaks off", said="plate.wav")
numbers(bw.Sound.from_samples, {"samples": SAMPLES, "rate_hz": 8000}, "Hz", "from 100", rate_hz=[0, -1, 99, 1e8, INF])
for bad, word in (
    ([], "empty"), ([0, NAN, 1], "samples[0][1]"), ([0, 1e7], "samples[0][1]"), (np.zeros((2, 2, 2)), "dimensions"),
    (np.zeros((4000, 2)), "samples.T"), (np.zeros((2, 0)), "empty"),
):  # fmt: skip
    row(bw.Sound.from_samples, {"rate_hz": 8000}, "samples", bad, bw.InvalidInputError, word)
row(bw.Sound.from_samples, {"rate_hz": 8000}, "samples", "loud", TypeError, "number")
row(bw.Sound.from_samples, {"rate_hz": 8000}, "samples", 1j, bw.InvalidInputError, "list of numbers")
counts(SOUND.centred, {}, "channel")
row(SOUND.centred, {}, "channel", 1, bw.InvalidInputError, "from 0")
counts(SOUND.svg, {}, "tap")
row(SOUND.svg, {}, "tap", 7, bw.InvalidInputError, "from 0")
row(SOUND.plot, {}, "tap", 7, bw.InvalidInputError, "from 0")
things(SOUND.svg, {}, "found")
things(SOUND.plot, {}, "found")
for call in (SOUND.svg, SOUND.plot):
    numbers(call, {}, "Hz", low_hz=[0, -1, INF], high_hz=[0, 1e5])
ring = {"rate_hz": 8000, "samples": SAMPLES}
for call in (bw.find_taps, bw.tap_modes, bw.tap_spectrum):
    numbers(call, ring, "Hz", rate_hz=[0, -1, 99, INF])
    for bad in ([0.0] * 99 + [NAN] + [0.0] * 3000, [0.0] * 99 + [1e9] + [0.0] * 3000):
        row(call, ring, "samples", bad, bw.InvalidInputError, "samples[99]", "must be")
    row(call, ring, "samples", np.zeros((2, 2)), bw.InvalidInputError, "dimensions")
    row(call, ring, "samples", object(), bw.InvalidInputError, "list of numbers")
    row(call, ring, "samples", [1.0, 2.0], bw.InvalidInputError, " s", said="record")
row(bw.tap_modes, ring, "samples", np.zeros(4000), bw.InvalidInputError, "silent", said="record")
looks(bw.tap_modes, ring, taps=False)
looks(bw.find_taps, ring, modes=False)
looks(bw.recording_modes, {"sound": SOUND})
looks(bw.many_recordings, {"recordings": [SOUND]})
numbers(bw.tap_spectrum, ring, "Hz", low_hz=[0, 990], high_hz=[0, 1e5])
things(bw.recording_modes, {"sound": SOUND}, "sound")
SILENCE = bw.Sound.from_samples([0.0] * 4000, rate_hz=8000)
row(bw.recording_modes, {}, "sound", SILENCE, bw.InvalidInputError, "silent", said="recording")
for bad in (5, "one.wav", [5], None, b"x"):
    row(bw.many_recordings, {}, "recordings", bad, TypeError, "paths or Sounds")
for bad in (5, [5], [FOUND, "x"], None):
    row(bw.combined, {}, "taps", bad, TypeError, "TapModes")
row(bw.combined, {}, "taps", [], bw.InvalidInputError, "empty")
numbers(bw.combined, {"taps": FOUND}, "%", tolerance_percent=[0, -1, 11, INF])
for arg in ("before", "after"):
    for bad in (5, [RING], None):
        row(bw.compared, {"before": STATE, "after": STATE}, arg, bad, TypeError, "CombinedMode")
    row(bw.compared, {"before": STATE, "after": STATE}, arg, STATE.modes * 2, bw.InvalidInputError, "Hz")
numbers(bw.compared, {"before": STATE, "after": STATE}, "%", tolerance_percent=[0, -1, 51, INF])
words(bw.bands, {}, width="half")
numbers(bw.bands, {}, "Hz", low_hz=[0, -1, INF], high_hz=[0, 1e6, 10])
row(bw.bands, {}, "low_hz", 2000, bw.InvalidInputError, "from 2000", said="high_hz")
row(
    bw.band_balance, {"rate_hz": 8000, "bands": BANDS}, "recordings", [SAMPLES, [1.0]], bw.InvalidInputError, said="recordings[1]"
)
for call, arg, good in ((bw.band_decays, "samples", SAMPLES), (bw.band_balance, "recordings", [SAMPLES])):
    numbers(call, {"rate_hz": 8000, arg: good, "bands": BANDS}, "Hz", rate_hz=[0, -1, 99, INF])
    row(call, {"rate_hz": 8000, arg: good}, "bands", 5, TypeError)
    row(call, {"rate_hz": 8000, arg: good}, "bands", [5], TypeError)
    row(call, {"rate_hz": 1000, arg: good}, "bands", BANDS, bw.InvalidInputError, "Hz", said="bands[")
row(bw.band_decays, {"rate_hz": 8000, "bands": BANDS}, "samples", [1.0], bw.InvalidInputError, "at least 64")
row(bw.band_balance, {"rate_hz": 8000, "bands": BANDS}, "recordings", 5, TypeError, "list")
row(bw.band_balance, {"rate_hz": 8000, "bands": BANDS}, "recordings", [SAMPLES, "x"], TypeError, said="recordings[1]")
row(bw.band_balance, {"rate_hz": 8000, "recordings": [SAMPLES]}, "bands", [], bw.InvalidInputError, "at least one band")
strings = {"rate_hz": 8000, "notes": {"E": [SAMPLES], "A": [SAMPLES]}, "over_s": 0.05}
for bad in (0, -1, INF, NAN, 61):
    row(bw.level_balance, strings, "over_s", bad, bw.InvalidInputError, " s", "from 0.05 to 60")
row(bw.level_balance, strings, "over_s", "long", TypeError, "time")
numbers(bw.level_balance, strings, "Hz", rate_hz=[0, -1, INF])
row(bw.level_balance, strings, "notes", 5, TypeError)
row(bw.level_balance, strings, "notes", {"E": [SAMPLES]}, bw.InvalidInputError, "at least two")
row(bw.level_balance, strings, "notes", {1: [SAMPLES], "A": [SAMPLES]}, TypeError, "texts")
row(bw.level_balance, strings, "notes", {"E": [SAMPLES], "A": []}, bw.InvalidInputError, said='notes["A"]')
quiet = {"E": [SAMPLES], "A": [[0.0] * 800]}
row(bw.level_balance, strings, "notes", quiet, bw.InvalidInputError, "silent", said='notes["A"][0]')
long = {**strings, "over_s": 30}
row(bw.level_balance, long, "notes", strings["notes"], bw.InvalidInputError, "must last at least", said='notes["E"]')
things(bw.amplitude_per_impulse, {"tap": RING, "rate_hz": 8000}, "tap")
numbers(bw.amplitude_per_impulse, {"tap": RING, "force_n": [0, 5, 0], "rate_hz": 8000}, "Hz", rate_hz=[0, INF])
struck = {"tap": RING, "rate_hz": 8000}
row(bw.amplitude_per_impulse, struck, "force_n", None, bw.InvalidInputError, "cannot be heard", said="force")
row(bw.amplitude_per_impulse, struck, "force_n", [0, NAN], bw.InvalidInputError, " N", said="force_n[1]")
row(bw.amplitude_per_impulse, struck, "force_n", [-1.0, 0], bw.InvalidInputError, "N s")

STICK = bw.StickTap(BLANK)
HEARD = RING.modes[0]
TAPPED = bw.TapReading(400, u_hz=0.5)
TOP = bw.BarePlate(WOOD, length_mm=520, width_mm=400, thickness_mm=3.2, mass_g=272)
TWIST = bw.PlateReading("1,1", 21, u_hz=0.1)
THREE = [TWIST, bw.PlateReading("0,2", 29.6, u_hz=0.1), bw.PlateReading("2,0", 63.1, u_hz=0.1)]
STATIC = bw.DynamicOverStatic.usual()
WEIGHED = bw.AddedMass(5, before_hz=180, after_hz=170, u_before_hz=0.1, u_after_hz=0.1)
STOCK = [bw.StockBlank(f"{k}", modulus_gpa=10 + k, u_gpa=0.1, density_kg_m3=400) for k in range(5)]
GRADED = bw.grade(STOCK)
PRIORS = bw.stock_priors(STOCK)[0]

pickup = {"x_mm": 10, "mass_g": 0.5}
numbers(bw.Pickup, pickup, "mm", x_mm=[-1, INF])
numbers(bw.Pickup, pickup, " g", mass_g=[0, -1, INF], u_mass_g=[-1, INF])
foam = {"x_mm": 10, "stiffness_n_per_mm": 1, "u_stiffness_n_per_mm": 0.5}
numbers(bw.Foam, foam, "mm", x_mm=[-1, INF])
numbers(bw.Foam, foam, "", stiffness_n_per_mm=[-1, INF], u_stiffness_n_per_mm=[-1, INF])
numbers(bw.TapReading, {"frequency_hz": 400, "u_hz": 0.5}, "Hz", frequency_hz=[0, -1, INF], u_hz=[0, -1, INF])
counts(bw.TapReading, {"frequency_hz": 400, "u_hz": 0.5}, "mode")
for bad in (0, 7):
    row(bw.TapReading, {"frequency_hz": 400, "u_hz": 0.5}, "mode", bad, bw.InvalidInputError, "from 1 to 6")
    row(bw.TapReading.from_mode, {"heard": HEARD}, "mode", bad, bw.InvalidInputError, "from 1 to 6")
for bad in (5, None, RING, [HEARD]):
    row(bw.TapReading.from_mode, {}, "heard", bad, TypeError, "Mode or a CombinedMode")
    row(bw.PlateReading.from_mode, {"label": "1,1"}, "heard", bad, TypeError, "Mode or a CombinedMode")
    row(bw.Loss.from_mode, {}, "heard", bad, TypeError, "Mode or a CombinedMode")
    row(bw.AddedMass.from_modes, {"after": HEARD, "mass_g": 5}, "before", bad, TypeError, "Mode or a CombinedMode")
    row(bw.AddedMass.from_modes, {"before": HEARD, "mass_g": 5}, "after", bad, TypeError, "Mode or a CombinedMode")
numbers(bw.AddedMass.from_modes, {"before": HEARD, "after": HEARD, "mass_g": 5}, " g", mass_g=[0, -1, INF], u_mass_g=[-1, INF])
numbers(bw.DynamicOverStatic, {"ratio": 1.05, "u_ratio": 0.02}, "", ratio=[0, 0.7, 1.6, INF], u_ratio=[-1, 0.6, INF])
things(STICK.modulus(TAPPED).static_modulus, {"factor": STATIC}, "factor")
for call in (bw.StickTap, bw.LengthwiseTap):
    for bad in (5, WOOD, None, "stick"):
        row(call, {}, "stick", bad, TypeError, "Blank or a Brace")
words(bw.StickTap, {"stick": BLANK}, bending="sideways")
numbers(bw.StickTap, {"stick": BLANK}, "", ratio_spread=[-1, 1.5, INF], model_spread=[-1, 0.2, INF])
row(bw.StickTap, {"stick": BLANK}, "pickup", 5, TypeError)
row(bw.StickTap, {"stick": BLANK}, "pickup", bw.Pickup(500, 0.5), bw.InvalidInputError, "from 0 to 420 mm", said="x_mm")
row(bw.StickTap, {"stick": BLANK}, "pickup", bw.Pickup(5, 20), bw.InvalidInputError, "microphone")
row(bw.StickTap, {"stick": BLANK}, "foam", 5, TypeError)
row(bw.StickTap, {"stick": BLANK}, "foam", [5], TypeError)
off = bw.Foam(500, 1, u_stiffness_n_per_mm=0.5)
row(bw.StickTap, {"stick": BLANK}, "foam", [off], bw.InvalidInputError, "from 0 to 420 mm", said="x_mm of foam 1")
for bad in (5, [5], None, [TAPPED, TWIST]):
    row(STICK.modulus, {}, "readings", bad, TypeError, "TapReading")
    row(TOP.moduli, {}, "readings", bad, TypeError, "PlateReading")
row(STICK.modulus, {}, "readings", [], bw.InvalidInputError, "at least one")
row(STICK.modulus, {}, "readings", [TAPPED, TAPPED], bw.InvalidInputError, "twice")
low = [TAPPED, bw.TapReading(300, u_hz=1, mode=2)]
row(STICK.modulus, {}, "readings", low, bw.InvalidInputError, "higher mode")
for call in (STICK.expected_hz, bw.LengthwiseTap(BLANK).expected_hz):
    counts(call, {}, "count")
    for bad in (0, 7):
        row(call, {}, "count", bad, bw.InvalidInputError, "from 1 to 6", said="is ")
counts(STICK.nodes_mm, {}, "mode")
row(STICK.nodes_mm, {}, "mode", 7, bw.InvalidInputError, "from 1 to 6")
row(bw.LengthwiseTap, {"stick": BLANK}, "end_mass_g", -1, bw.InvalidInputError, " g", said="mass_g")
row(bw.LengthwiseTap, {"stick": BLANK}, "end_mass_g", NAN, bw.InvalidInputError, " g", said="mass_g")
row(bw.LengthwiseTap, {"stick": BLANK}, "end_mass_g", 20, bw.InvalidInputError, " g", said="mass_g")
row(bw.LengthwiseTap, {"stick": BLANK}, "end_mass_g", [], TypeError, "list")
row(bw.LengthwiseTap, {"stick": BLANK}, "u_end_mass_g", -1, bw.InvalidInputError, " g", said="u_mass_g")
row(bw.LengthwiseTap, {"stick": BLANK}, "u_end_mass_g", [], TypeError, "list")
things(bw.LengthwiseTap(BLANK).modulus, {"reading": TAPPED}, "reading")
decay = {"frequency_hz": 200, "decay_60_db_s": 1.0}
numbers(bw.loss_factor_from_decay_time, decay, "Hz", frequency_hz=[0, -1, INF])
for arg in ("decay_60_db_s", "u_decay_60_db_s"):
    for bad in (-1, NAN, INF):
        row(bw.loss_factor_from_decay_time, decay, arg, bad, bw.InvalidInputError, " s", "must be")
    row(bw.loss_factor_from_decay_time, decay, arg, [], TypeError, "time")
row(bw.loss_factor_from_decay_time, decay, "decay_60_db_s", 1e-3, bw.InvalidInputError, "below 1", said="loss_factor")
wide = {"frequency_hz": 200, "bandwidth_hz": 2}
numbers(bw.loss_factor_from_bandwidth, wide, "Hz", frequency_hz=[0, -1, INF], bandwidth_hz=[0, -1, INF], u_bandwidth_hz=[-1, INF])
numbers(bw.loss_factor_from_decrement, {"decrement": 0.03}, "", decrement=[0, -1, INF], u_decrement=[-1, INF])
shift = {"mass_g": 5, "before_hz": 180, "after_hz": 170, "u_before_hz": 0.1, "u_after_hz": 0.1}
numbers(bw.AddedMass, shift, " g", mass_g=[0, -1, INF], u_mass_g=[-1, INF])
numbers(bw.AddedMass, shift, "Hz", before_hz=[0, -1, INF], after_hz=[0, -1, INF], u_before_hz=[-1, INF], u_after_hz=[-1, INF])
numbers(bw.e1876_shape_factor, {"thickness_over_length": 0.1}, "", thickness_over_length=[-1, 0.6, INF], poisson=[-1, 0.6])
bar = {"mass_g": 24, "frequency_hz": 500, "length_mm": 200, "width_mm": 20, "thickness_mm": 10}
for call in (bw.e1876_modulus_gpa, bw.e1876_shear_modulus_gpa):
    numbers(call, bar, " g", mass_g=[0, -1, INF])
    numbers(call, bar, "Hz", frequency_hz=[0, -1, INF])
    numbers(call, bar, "mm", length_mm=[0, -1, INF], width_mm=[0, -1, INF], thickness_mm=[0, -1, INF])
numbers(bw.e1876_modulus_gpa, bar, "", poisson=[-1, 0.6, INF])
numbers(bw.e1876_torsion_factors, {"width_over_thickness": 2}, "", width_over_thickness=[0, 21, INF])

numbers(bw.PlateReading, {"label": "1,1", "frequency_hz": 21, "u_hz": 0.1}, "Hz", frequency_hz=[0, -1, INF], u_hz=[-1, INF])
for bad in ("", "one", "0,1", "9,9", "1;1"):
    row(bw.PlateReading, {"frequency_hz": 21, "u_hz": 0.1}, "label", bad, bw.InvalidInputError, "whole numbers")
    row(bw.PlateReading.from_mode, {"heard": HEARD}, "label", bad, bw.InvalidInputError, "whole numbers")
    row(TOP.how_to_tap, {}, "label", bad, bw.InvalidInputError, "whole numbers")
row(bw.PlateReading, {"frequency_hz": 21, "u_hz": 0.1}, "label", 11, TypeError)
row(TOP.how_to_tap, {}, "label", "6,6", bw.InvalidInputError, "lowest", said="mode 6,6")
board = {"wood": WOOD, "length_mm": 520, "width_mm": 400, "thickness_mm": 3.2, "mass_g": 272}
things(bw.BarePlate, board, "wood")
numbers(
    bw.BarePlate, board, "mm", length_mm=[0, -1, 49, 1e4, INF], width_mm=[0, -1, INF], thickness_mm=[0, -1, 21, INF],
    u_length_mm=[-1, 60], u_width_mm=[-1, INF], u_thickness_mm=[-1, 0.5],
)  # fmt: skip
numbers(bw.BarePlate, board, " g", mass_g=[0, -1, INF], u_mass_g=[-1, 300])
row(bw.BarePlate, board, "mass_g", 27.2, bw.InvalidInputError, "between 100 and 1400")
numbers(bw.BarePlate, board, "deg", grain_angle_deg=[-46, 46, INF], u_grain_angle_deg=[-1, 21])
numbers(bw.BarePlate, board, "", shear_spread=[-1, 0.6], poisson_spread=[-1, 0.6], model_spread=[-1, 0.2])
map_of = {"x_mm": [0, 520], "y_mm": [0, 400], "thickness_mm": [[3.2, 3.0], [3.1, 2.9]]}
lists(TOP.with_thickness_map, map_of, "mm", x_mm=[[], [5, 4], [0, NAN], [0]], y_mm=[[], [5, 4], [0, NAN], [0]])
for bad in ([], [[]], [[3.2, 3.0]], [[3.2], [3.1]], [[3.2, NAN], [3.1, 2.9]], [[3.2, -1], [3, 3]], "thin", [[3.2, 30], [3, 3]]):
    row(TOP.with_thickness_map, map_of, "thickness_mm", bad, bw.InvalidInputError)
sides = {"x_mm": [0, 520], "low_mm": [0, 20], "high_mm": [400, 380]}
lists(TOP.with_sides, sides, "mm", x_mm=[[], [5, 4], [0, NAN], [0], [0, 20]])
lists(TOP.with_sides, sides, "mm", low_mm=[[], [0], [0, NAN], [0, 379]], high_mm=[[], [400], [400, INF], [400, 21]])
counts(TOP.modes, {}, "count")
for bad in (0, 13):
    row(TOP.modes, {}, "count", bad, bw.InvalidInputError, "from 1 to 12")
lists(TOP.suggest_labels, {}, "Hz", frequency_hz=[[], [20], [20, NAN], [20, -1], [20] * 7])
row(TOP.suggest_labels, {}, "frequency_hz", [5000, 6000], bw.FitError, "labels", said="mode")
row(TOP.moduli, {}, "readings", THREE[:2], bw.InvalidInputError, "three moduli")
row(TOP.moduli, {}, "readings", [TWIST, TWIST, *THREE[1:]], bw.InvalidInputError, "twice")
row(TOP.moduli, {}, "readings", [*THREE[:2], bw.PlateReading("1,2", 52, u_hz=0.1)], bw.FitError, "add mode 2,0")
things(TOP.moduli(THREE).wood, {"plate": TOP}, "plate")

one = {"name": "a", "modulus_gpa": 11, "u_gpa": 0.1, "density_kg_m3": 400}
numbers(bw.StockBlank, one, "GPa", modulus_gpa=[0, -1, 1000, INF], u_gpa=[-1, INF])
numbers(bw.StockBlank, one, "kg/m3", density_kg_m3=[0, -1, 2000, INF], u_density_kg_m3=[-1, INF])
numbers(bw.StockBlank, one, "", run_out=[-2, 2, INF], loss_factor=[0, -1, INF], u_loss_factor=[-1, INF])
numbers(bw.StockBlank, one, "deg", ring_angle_deg=[-400, 400, INF])
row(bw.StockBlank, one, "name", " ", bw.InvalidInputError, "needs a name")
row(bw.StockBlank, one, "name", 5, TypeError)
row(bw.StockBlank, one, "lot", 5, TypeError)
row(bw.StockBlank, one, "species", 5, TypeError)
things(bw.StockBlank.of, {"name": "a", "blank": BLANK}, "blank")
numbers(bw.StockBlank.of, {"name": "a", "blank": BLANK}, "", loss_factor=[0, -1, INF])
for call, good in (
    (bw.grade, {}), (bw.best_pairs, {"exponent": 2.25}), (bw.stock_priors, {}), (bw.stock_svg, {"graded": GRADED}),
):  # fmt: skip
    row(call, good, "blanks", 5, TypeError)
    row(call, good, "blanks", [5], TypeError)
    row(call, good, "blanks", [], bw.InvalidInputError, "blank")
for call, good in ((bw.grade, {}), (bw.best_pairs, {"exponent": 2.25}), (bw.stock_priors, {})):
    row(call, good, "blanks", [STOCK[0], STOCK[0]], bw.InvalidInputError, "two blanks called")
for bad in (-1, NAN, INF):
    for arg in ("run_out", "ring_angle_deg", "loss_factor"):
        row(bw.grade, {"blanks": STOCK}, arg, bad, bw.InvalidInputError, "0 or more")
numbers(bw.grade, {"blanks": STOCK}, "kg/m3", lowest_density_kg_m3=[-1, INF], highest_density_kg_m3=[-1, INF])
numbers(bw.grade, {"blanks": STOCK}, "GPa", lowest_modulus_gpa=[-1, INF])
row(bw.stock_svg, {"blanks": STOCK}, "graded", GRADED[1:], bw.InvalidInputError, "same number")
row(bw.stock_svg, {"blanks": STOCK}, "graded", [5], TypeError)
row(bw.stock_svg, {"blanks": STOCK, "graded": GRADED}, "pairing", 5, TypeError)
numbers(bw.stock_svg, {"blanks": STOCK, "graded": GRADED}, "GPa", lowest_modulus_gpa=[-1, INF])
numbers(bw.stock_svg, {"blanks": STOCK, "graded": GRADED}, "kg/m3", lowest_density_kg_m3=[-1], highest_density_kg_m3=[INF])
row(bw.best_pairs, {"exponent": 2.25}, "blanks", STOCK[:1], bw.InvalidInputError, "at least two blanks")
numbers(bw.best_pairs, {"blanks": STOCK, "exponent": 2.25}, "", exponent=[0, -1, 5, INF])
counts(bw.best_pairs, {"blanks": STOCK, "exponent": 2.25}, "pairs")
for bad in (0, 3):
    row(bw.best_pairs, {"blanks": STOCK, "exponent": 2.25}, "pairs", bad, bw.InvalidInputError, "from 1 to 2")
numbers(bw.height_ratio, {"modulus_ratio": 0.9, "exponent": 2.25}, "", modulus_ratio=[0, -1, INF], exponent=[0, -1, 5, INF])
spare = {"needed": 20, "reject_chance": 0.2}
numbers(bw.blanks_to_buy, spare, "", reject_chance=[-1, 0.99, INF], confidence=[0, 0.4, 1, INF])
counts(bw.blanks_to_buy, spare, "needed")
for bad in (0, 1001):
    row(bw.blanks_to_buy, spare, "needed", bad, bw.InvalidInputError, "from 1 to 1000")
words(bw.stock_priors, {"blanks": STOCK}, of="tree")
things(PRIORS.wood, {"wood": WOOD}, "wood")
row(PRIORS.wood, {"wood": WOOD}, "factor", 1.05, TypeError)
for read in (bw.read_stock, bw.read_delivery):
    words(read, {"path": "none.csv"}, bending="sideways")
    row(read, {"path": "none.csv"}, "wood", "spruce", TypeError)

CAVITY = bw.BodyAir(14.0, hole_area_cm2=78, edge_mm=2.8)
PLATE = bw.BodyPlate(160, mass_g=80, area_cm2=350, q=25)
BODY = bw.CoupledBody(CAVITY, PLATE, q_air=30)
BODY_TAPS = bw.BodyTaps([98, 190], u_open_hz=0.2, closed_hz=[160], u_closed_hz=0.2)
hole = {"hole_area_cm2": 78, "edge_mm": 2.8}
for call, good in ((bw.BodyAir, hole), (bw.BodyAir.round_hole, {"diameter_mm": 100, "edge_mm": 2.8})):
    with_volume = {**good, "volume_l": 14.0}
    numbers(call, good, "", " l", volume_l=[0, -1, 1e-9, 501, INF])
    numbers(call, with_volume, "", " l", u_volume_l=[-1, 8, INF])
    numbers(call, with_volume, "mm", edge_mm=[-1, 31, INF])
    numbers(call, with_volume, "", end_radii=[0, -1, 6, INF], u_end_radii=[-1, 2, INF])
    numbers(call, with_volume, "deg", temperature_c=[-60, 60, INF])
    numbers(call, with_volume, "", u_temperature_c=[-1, 30, INF])
    numbers(call, with_volume, "percent", rh_percent=[-1, 101, INF])
    numbers(call, with_volume, "", "kPa", pressure_kpa=[0, -1, 1013, INF])
numbers(bw.BodyAir, {**hole, "volume_l": 14}, "", "cm2", hole_area_cm2=[0, -1, 2000, INF], u_hole_area_cm2=[-1, 40, INF])
numbers(bw.BodyAir.round_hole, {"volume_l": 14, "diameter_mm": 100, "edge_mm": 3}, "mm", diameter_mm=[0, -1, 400, INF],
        u_diameter_mm=[-1, 50, INF])  # fmt: skip
numbers(CAVITY.helmholtz_budget, {}, "", coverage=[0, 1, -0.5, 2])
numbers(CAVITY.load_g, {}, "", "cm2", area_cm2=[0, -1, 6000, INF])
plate_of = {"frequency_hz": 160, "mass_g": 80, "area_cm2": 350, "q": 25}
numbers(bw.BodyPlate, plate_of, "Hz", frequency_hz=[0, -1, 6000, INF])
numbers(bw.BodyPlate, plate_of, " g", mass_g=[0, -1, 20_000, INF])
numbers(bw.BodyPlate, plate_of, "", "cm2", area_cm2=[0, -1, 6000, INF])
numbers(bw.BodyPlate, plate_of, "", q=[0, -1, 1e5, INF])
things(PLATE.in_air, {}, "air")
counts(PLATE.in_air, {"air": CAVITY}, "sides")
for bad in (0, 3):
    row(PLATE.in_air, {"air": CAVITY}, "sides", bad, bw.InvalidInputError, "1 or 2")
for call in (PLATE.changed, BODY.top_changed):
    numbers(call, {}, "percent", stiffness_percent=[-100, 1000, INF], mass_percent=[-100, 1000, INF])
things(bw.CoupledBody, {"air": CAVITY, "top": PLATE, "q_air": 30}, "air", "top", "back")
numbers(bw.CoupledBody, {"air": CAVITY, "top": PLATE, "q_air": 30}, "", q_air=[0, -1, 1e5, INF])
for call in (BODY.modes, BODY.frequencies_hz):
    words(call, {}, hole="half")
words(BODY.mobility, {"frequency_hz": [100]}, hole="half")
lists(BODY.mobility, {}, "Hz", frequency_hz=[[], [0], [-1], [100, NAN], [INF]])
things(BODY.with_top, {}, "top")
taps_of = {"open_hz": [98, 190], "u_open_hz": 0.2}
lists(bw.BodyTaps, {"u_open_hz": [0.2]}, "Hz", open_hz=[[], [98], [190, 98], [98, 98], [98, NAN], [-1, 98], [1, 2, 3, 4]])
lists(bw.BodyTaps, {"open_hz": [98, 190]}, "Hz", u_open_hz=[[], [0.1, 0], [0.1, NAN], [-1, 1], [0.1, 60]])
shut = {**taps_of, "closed_hz": [160], "u_closed_hz": [0.2]}
lists(bw.BodyTaps, shut, "Hz", closed_hz=[[90], [98], [195], [120, 160], [NAN], [-1], [INF]])
lists(bw.BodyTaps, shut, "Hz", u_closed_hz=[[0], [-1], [NAN], [50]])
with_20 = {**shut, "added_mass_g": 20, "open_with_mass_hz": [95, 183], "u_open_with_mass_hz": 0.2}
with_20 |= {"closed_with_mass_hz": [150], "u_closed_with_mass_hz": 0.2}
lists(bw.BodyTaps, with_20, "Hz", open_with_mass_hz=[[95], [183, 95], [99, 183], [95, 192], [155, 183], [NAN, 183]])
lists(bw.BodyTaps, with_20, "Hz", u_open_with_mass_hz=[[0], [0.1] * 3, [NAN]], u_closed_with_mass_hz=[[0], [0.1] * 2, [NAN]])
lists(bw.BodyTaps, with_20, "Hz", closed_with_mass_hz=[[170], [90], [150, 160], [NAN]])
numbers(bw.BodyTaps, with_20, " g", added_mass_g=[0, -1, 2000, INF], u_added_mass_g=[-1, 15, INF])
row(bw.BodyTaps, with_20, "added_mass_g", None, bw.InvalidInputError, "is not given", " g")
row(bw.BodyTaps.from_modes, {}, "open", 5, TypeError, "list of Mode")
for arg in ("open", "closed", "open_with_mass", "closed_with_mass"):
    row(bw.BodyTaps.from_modes, {"open": [HEARD, HEARD]}, arg, [5], TypeError, "Mode or a CombinedMode")
row(bw.BodyTaps.from_modes, {}, "open", [HEARD, HEARD], bw.InvalidInputError, "must increase")
row(BODY_TAPS.identify, {}, "air", 5, TypeError)
words(BODY_TAPS.identify, {}, top="upper")
row(BODY_TAPS.identify, {}, "top", "lower", bw.InvalidInputError, "leave it out")
numbers(BODY_TAPS.identify, {}, "", coverage=[0, 1, -0.5, 2])
OF_BODY = bw.BodyTaps(**{k: v for k, v in with_20.items() if "closed_with" not in k}).identify(CAVITY)
numbers(OF_BODY.body, {"q_top": 25, "q_air": 30}, "", q_top=[0, -1, INF], q_air=[0, -1, INF], q_back=[0, -1, INF])
numbers(OF_BODY.body, {"q_top": 25, "q_air": 30}, " g", back_mass_g=[0, -1, INF])


def test_the_table_is_long():
    assert len(ROWS) >= 250


SEATS = [[1.20, 1.21, 1.20], [1.23, 1.22]]
LINE = bw.BudgetLine("dial", u=0.01)
AIR = bw.Climate(8.0)
BEND, TAP = bw.Method("bend", 11.0, u=0.2), bw.Method("tap", 11.9, u=0.1)
numbers(bw.BudgetLine, {"source": "dial", "u": 0.01}, "", u=[-1, INF], dof=[0, -3], value=[INF], sensitivity=[INF])
words(bw.BudgetLine, {"source": "dial", "u": 0.01}, evaluation="C")
numbers(bw.Budget, {"value": 1.0, "lines": [LINE]}, "", value=[INF], coverage=[0, 1, -0.5, 2])
row(bw.Budget, {"value": 1.0}, "lines", [], bw.InvalidInputError, "at least one")
row(bw.Budget, {"value": 1.0}, "lines", [5], TypeError)
numbers(bw.coverage_factor, {}, "", coverage=[0, 1, 1.5], dof=[0, -1])
lists(bw.robust_mean, {}, "number", values=[[1, 2], [1, 2, NAN]])
lists(bw.modified_z, {}, "number", values=[[1, 2], [1, 2, INF]])
many = {"readings": SEATS}
numbers(bw.repeated, many, "", resolution=[-1, INF], u_calibration=[-1], known_repeat_sd=[0, -1], known_seat_sd=[0, -1])
numbers(bw.repeated, {**many, "u_calibration": 0.01}, "", coverage=[0, 1], calibration_dof=[0, -1])
for bad in ([], [[]], [[1.0, NAN]], [["a"]], np.zeros((2, 2, 2))):
    row(bw.repeated, {}, "readings", bad, bw.InvalidInputError)
row(bw.repeated, {}, "readings", "1.2 2.3", TypeError)
numbers(bw.Climate, {"mc_percent": 8}, "%", mc_percent=[-1, 31], u_mc_percent=[-1, 31])
numbers(bw.Climate, {"mc_percent": 8}, "deg", temperature_c=[-60, 60, INF])
row(bw.Climate, {"mc_percent": 8}, "u_temperature_c", -1, bw.InvalidInputError, "deg C")
air = {"temperature_c": 20, "rh_percent": 45}
numbers(bw.Climate.of_air, air, "%", rh_percent=[-1, 101], u_rh_percent=[-1, 51])
numbers(bw.Climate.of_air, air, "deg", temperature_c=[-2, 60])
numbers(bw.Climate.of_air, air, "%", u_settled_percent=[-1, 11])
step = {"wood": WOOD, "value": 11.0, "what": "modulus along", "u": 0.1, "climate": AIR}
numbers(bw.to_reference, step, "%", to_mc_percent=[-1, 31])
numbers(bw.to_reference, step, "deg", to_temperature_c=[-51, 51])
numbers(bw.to_reference, step, "", value=[0, -1, INF], u=[-1], u_coefficients=[-0.1, 1.1], coverage=[0, 1])
numbers(bw.to_reference, {**step, "what": "size"}, "deg", ring_angle_deg=[-1, 91])
row(bw.to_reference, {**step, "what": "density"}, "value", 11.0, bw.InvalidInputError, "kg/m3")
words(bw.to_reference, step, what="stiffness")
things(bw.to_reference, step, "wood", "climate")
numbers(bw.Method, {"name": "tap", "value": 1.0, "u": 0.1}, "", value=[0, -1, INF], u=[0, -1])
numbers(TAP.over, {"ratio": 1.05, "u_ratio": 0.02}, "", ratio=[0, 0.5, 2], u_ratio=[-1, 0.6])
row(bw.fuse, {}, "methods", [], bw.InvalidInputError, "empty")
row(bw.fuse, {}, "methods", [5], TypeError)
for bad in ([[1.0, 0.5]], [[1.0, 2.0], [2.0, 1.0]], [[1.0, 0.5], [0.4, 1.0]], [[1.0, 1.0], [1.0, 1.0]]):
    row(bw.fuse, {"methods": [BEND, TAP]}, "correlation", bad, bw.InvalidInputError)
numbers(bw.fuse, {"methods": [BEND, TAP]}, "", coverage=[0, 1])
weighed = {"days": [0, 1, 2], "mass_g": [400.0, 399.0, 398.6], "u_scale_g": 0.05}
lists(bw.rest, weighed, "", days=[[0, 1], [0, 1, 1], [0, 1, NAN], []])
lists(bw.rest, weighed, "g", mass_g=[[400.0, 399.0], [400.0, 0, 398], [400.0, NAN, 398]])
numbers(bw.rest, weighed, " g", u_scale_g=[0, -1, INF, 300])
numbers(bw.rest, weighed, "", limit_percent_per_day=[0, -1, 11])
joint = {"glue_g": 1.0, "area_mm2": 4000, "first_mm": 3, "second_mm": 16}
numbers(bw.glue_water, joint, " g", glue_g=[0, -1, INF])
numbers(bw.glue_water, joint, "mm", first_mm=[0, -1, 501], second_mm=[0, -1])
numbers(bw.glue_water, joint, "%", water_percent=[-1, 101], mc_percent=[-1, 31], allowed_percent=[0, -1], slope_percent=[-1, 21])
numbers(bw.glue_water, joint, "", area_mm2=[0, -1], diffusion_mm2_per_day=[0, -1])
numbers(bw.glue_water, joint, "kg/m3", density_kg_m3=[0, 2000])
GLUE = bw.glue_water(**joint)
numbers(GLUE.left_after, {"days": 1}, "", days=[-1, INF])

BLOW = np.r_[np.zeros(20), 5.0, 9.0, 5.0, np.zeros(3977)]
struck = {"rate_hz": 8000, "force_n": [BLOW], "response": [SAMPLES]}
numbers(bw.frf, struck, "Hz", rate_hz=[0, -1, INF], high_hz=[0, -1, 5000])
for bad in ([], [BLOW[:9]], [np.zeros(4000)], [BLOW, BLOW], [BLOW * NAN]):
    row(bw.frf, struck, "force_n", bad, bw.InvalidInputError)
row(bw.frf, struck, "response", [SAMPLES[:100]], bw.InvalidInputError)
row(bw.frf, struck, "response", 5, bw.InvalidInputError)
words(bw.frf, struck, estimator="H3")
PLACES = [0, 200, 420]
HERTZ = np.arange(40, 1001, 2.0)
ROWS_OF_FRF = np.stack([k / (2 * np.pi * (1j * HERTZ + 5 - 120j)) for k in (1.0, -0.3, 0.9)])
GRID = bw.FrfSet(PLACES, HERTZ, ROWS_OF_FRF)
grid = {"points_mm": PLACES, "hz": HERTZ, "frfs": ROWS_OF_FRF}
for bad in ([], [0, 1], [0, 1, NAN], [0, 1, 1e9], "left", np.zeros((3, 3))):
    row(bw.FrfSet, grid, "points_mm", bad, bw.InvalidInputError)
for bad in (HERTZ[::-1], HERTZ**1.5, HERTZ[:5], -HERTZ):
    row(bw.FrfSet, grid, "hz", bad, bw.InvalidInputError)
for bad in (ROWS_OF_FRF[:2], ROWS_OF_FRF[:, :50], ROWS_OF_FRF * NAN, ROWS_OF_FRF * 0, ROWS_OF_FRF[0], [["a"]], None):
    row(bw.FrfSet, grid, "frfs", bad, bw.InvalidInputError)
words(bw.FrfSet, grid, response="loudness")
counts(bw.FrfSet, grid, "driving")
row(bw.FrfSet, grid, "driving", 3, bw.InvalidInputError, "from 0 to 2")
numbers(bw.roving_frfs, {"frfs": GRID}, "Hz", low_hz=[0, -1, 990, INF], high_hz=[0, -1, 1500])
row(bw.roving_frfs, {"frfs": GRID}, "most", 0, bw.InvalidInputError, "from 1 to 24")
counts(bw.roving_frfs, {"frfs": GRID}, "most")
things(bw.roving_frfs, {}, "frfs")
TAPS = [SAMPLES, 0.5 * SAMPLES, -SAMPLES]
roving = {"points_mm": PLACES, "rate_hz": 8000, "samples": TAPS}
numbers(bw.roving_decays, roving, "Hz", rate_hz=[0, -1, INF], low_hz=[0, 990], high_hz=[0, 4000])
for bad in ([], TAPS[:2], [[], [], []], [SAMPLES[:3]] * 3, [np.zeros(4000)] * 3, [SAMPLES * NAN] * 3, "tap"):
    row(bw.roving_decays, roving, "samples", bad, bw.InvalidInputError)
row(bw.roving_decays, roving, "samples", 5, TypeError)
row(bw.roving_decays, roving, "reference", TAPS[:2], bw.InvalidInputError)
row(bw.roving_decays, roving, "points_mm", [0, 1], bw.InvalidInputError)
words(bw.roving_decays, roving, moving="microphone")
row(bw.roving_decays, roving, "most", 25, bw.InvalidInputError, "from 1 to 24")
SHAPES = bw.roving_decays(**roving)
things(SHAPES.mac_with, {}, "other")
lists(bw.mac, {"first": [1, 0], "second": [1, 1]}, "number", first=[[1], [0, 0], [1, NAN]], second=[[0, 0]])
RESPONSE = {"kind": "frequency response", "abscissa": [1, 2], "re": [1, 2], "im": [0, 1], "response_node": 1}
words(bw.UniversalFunction, RESPONSE, kind="sonnet", ordinate="loudness", denominator="loudness")
lists(bw.UniversalFunction, RESPONSE, "number", abscissa=[[], [2, 1], [1], [1, NAN]])
lists(bw.UniversalFunction, RESPONSE, "number", re=[[1], [1, INF], [1, 1e99]], im=[[1], [1, NAN]])
counts(bw.UniversalFunction, RESPONSE, "response_node", "reference_node")
row(bw.UniversalFunction, RESPONSE, "response_node", 10**10, bw.InvalidInputError, "999999999")
for arg in ("response_direction", "reference_direction"):
    row(bw.UniversalFunction, RESPONSE, arg, 7, bw.InvalidInputError, "from -6 to 6")
    row(bw.UniversalFunction, RESPONSE, arg, 1.5, TypeError, "whole number")
numbers(bw.UniversalNode, {"node": 1, "x_mm": 5}, "mm", x_mm=[INF, 1e8], y_mm=[INF], z_mm=[INF])
counts(bw.UniversalNode, {"node": 1, "x_mm": 5}, "node")
FILE = bw.Universal([bw.UniversalFunction(**RESPONSE)], nodes=[bw.UniversalNode(1, x_mm=0)])
row(bw.Universal, {}, "functions", [5], TypeError)
row(bw.read_universal, {}, "path", b"RIFF", bw.ReadingsError, "no universal file", said="bytes, line 1")
row(bw.read_universal, {}, "path", FILE.to_bytes()[:-8], bw.ReadingsError, "the file ends inside", said="bytes, line")
row(bw.read_universal, {}, "path", 5, TypeError, "path or bytes")


# strings, years and winters
PLAIN = {"gauge_mm": 0.3}
numbers(bw.GuitarString.plain, PLAIN, "mm", gauge_mm=[0, -1, 0.01, 9, INF])
numbers(bw.GuitarString.plain, PLAIN, "kg/m3", density_kg_m3=[0, -1, 1e5])
numbers(bw.GuitarString.plain, PLAIN, "", u_relative=[-0.1, 0.9, INF])
words(bw.GuitarString.plain, PLAIN, material="brass")
numbers(bw.GuitarString.wound, PLAIN, "mm", gauge_mm=[0, -1, 9])
numbers(bw.GuitarString.wound, PLAIN, "kg/m3", wrap_density_kg_m3=[0, -1, 1e5])
numbers(bw.GuitarString.wound, PLAIN, "", core_of_gauge=[0, -1, 1.0], u_relative=[-0.1, 0.9])
words(bw.GuitarString.wound, PLAIN, core="square")
METRE = {"mass_g_per_m": 0.6, "u_mass_g_per_m": 0.01}
numbers(bw.GuitarString.of_mass, METRE, "", mass_g_per_m=[0, -1, 99, INF], u_mass_g_per_m=[-1, 1])
numbers(bw.GuitarString.of_mass, METRE, "mm", plain_gauge_mm=[0, -1, 9])
PIECE = {"mass_g": 5.1, "length_mm": 900}
numbers(bw.GuitarString.weighed, PIECE, " g", mass_g=[0, -1, 900, INF], u_mass_g=[-1, 4])
numbers(bw.GuitarString.weighed, PIECE, "mm", length_mm=[0, -1, 5, 9000], u_length_mm=[-1, 800], plain_gauge_mm=[0, 9])
row(bw.GuitarString.weighed, PIECE, "mass_g", 100, bw.InvalidInputError, "g/m")
PRINTED = {"tension_n": 100, "note": "E4", "scale_mm": 648}
numbers(bw.GuitarString.of_tension, PRINTED, "N", tension_n=[0, -1, 999, INF])
numbers(bw.GuitarString.of_tension, PRINTED, "mm", scale_mm=[0, -1, 5, 9000])
numbers(bw.GuitarString.of_tension, PRINTED, "Hz", a4_hz=[0, -1, 300, 500])
numbers(bw.GuitarString.of_tension, PRINTED, "", u_relative=[-0.1, 0.9])
words(bw.GuitarString.of_tension, PRINTED, note="H2")
numbers(bw.note_hz, {"note": "E4"}, "Hz", a4_hz=[0, -1, 300, INF])
for bad in ("", "H3", "E", "E10", "Ebb3", "4E", "\ud800"):
    row(bw.note_hz, {}, "note", bad, (bw.InvalidInputError, TypeError, ValueError), said=" ")
row(bw.note_hz, {}, "note", 5, TypeError)
PULL = {"mass_g_per_m": 0.6, "scale_mm": 648, "frequency_hz": 330}
numbers(bw.tension_n, PULL, "", mass_g_per_m=[0, -1, 99])
numbers(bw.tension_n, PULL, "mm", scale_mm=[0, -1, 5, 9000])
numbers(bw.tension_n, PULL, "Hz", frequency_hz=[0, -1, 9000])
FIRST = bw.GuitarString.plain("0.012 in")
LIGHT = bw.StringSet.steel("light", scale_mm=645)
numbers(bw.StringSet.steel, {"scale_mm": 645}, "mm", u_scale_mm=[-1, 99, INF])
numbers(bw.StringSet.steel, {"scale_mm": 645}, "Hz", a4_hz=[0, -1, 999])
words(bw.StringSet.steel, {"scale_mm": 645}, name="featherweight")
lists(bw.StringSet.steel, {}, "mm", scale_mm=[[], [645, 640], [0], [-1], [NAN], [9000]])
numbers(bw.StringSet.nylon, {"scale_mm": 650}, "mm", u_scale_mm=[-1, 99])
numbers(bw.StringSet.nylon, {"scale_mm": 650}, "Hz", a4_hz=[0, 999])
lists(bw.StringSet.nylon, {}, "mm", scale_mm=[[], [645, 640], [0], [NAN]])
ONE = {"strings": [FIRST], "tuning": "E4", "scale_mm": 645}
for bad in ([], [FIRST] * 30):
    row(bw.StringSet, ONE, "strings", bad, bw.InvalidInputError, "1 to 24")
row(bw.StringSet, ONE, "strings", [FIRST, FIRST], bw.InvalidInputError, "tuning")
row(bw.StringSet, ONE, "strings", [5], TypeError)
row(bw.StringSet, ONE, "tuning", ["E4", "B3"], bw.InvalidInputError, "same number")
row(bw.StringSet, ONE, "tuning", "X4", bw.InvalidInputError, "octave", said="note")
row(bw.StringSet, ONE, "tuning", "E7", bw.InvalidInputError, "Hz", said="E7")
row(bw.StringSet, ONE, "tuning", 5, TypeError)
row(bw.StringSet, ONE, "tuning", "C7", bw.InvalidInputError, "Hz", said="C7")
numbers(bw.StringSet, ONE, "mm", u_scale_mm=[-1, 99])
numbers(bw.StringSet, ONE, "Hz", a4_hz=[0, 999])
row(LIGHT.with_tuning, {}, "tuning", ["E4"], bw.InvalidInputError, "same number")
row(LIGHT.with_tuning, {}, "tuning", ["E6"] * 6, bw.InvalidInputError, "from 1 to 600 N", said="pull")
row(LIGHT.with_scale, {}, "scale_mm", [645, 640], bw.InvalidInputError, "same number")
TENSIONS = LIGHT.tensions()
counts(TENSIONS.stored_energy_j, {"index": 0, "length_mm": 780}, "index")
row(TENSIONS.stored_energy_j, {"length_mm": 780}, "index", 6, bw.InvalidInputError, "from 0 to 5")
numbers(TENSIONS.stored_energy_j, {"index": 0, "length_mm": 780}, "mm", length_mm=[0, -1, 9000])
row(TENSIONS.inharmonicity, {}, "index", 6, bw.InvalidInputError, "from 0 to 5")
numbers(TENSIONS.inharmonicity, {"index": 0}, "GPa", e_gpa=[0, -1, 999])
BRIDGE = {
    "saddle_height_mm": 12.2, "end_height_mm": 9, "end_behind_mm": 16, "foot_length_mm": 150, "foot_width_mm": 32,
    "saddle_from_front_mm": 11, "top_thickness_mm": 2.8,
}  # fmt: skip
for build in (bw.Bridge.pin, bw.Bridge.tie):
    numbers(
        build, BRIDGE, "mm", saddle_height_mm=[0, -1, 99, INF], end_height_mm=[12.2, 99, -50], end_behind_mm=[0, -1, 999],
        foot_length_mm=[0, -1, 999], foot_width_mm=[0, -1, 999], saddle_from_front_mm=[-1, 33], top_thickness_mm=[-1, 99],
        u_saddle_height_mm=[-1, 9],
    )  # fmt: skip
    numbers(build, BRIDGE, "deg", neck_angle_deg=[-11, 11, INF])
row(bw.Bridge.pin, {**BRIDGE, "end_height_mm": 11.9}, "neck_angle_deg", -5, bw.InvalidInputError, "press on the saddle")
PINNED = bw.Bridge.pin(**BRIDGE)
numbers(PINNED.load_of, {"total_n": 700}, "N", total_n=[-1, 9000, INF], u_total_n=[-1, 9000])
row(PINNED.load, {}, "strings", 700, TypeError, "StringSet")
LOADED = PINNED.load(LIGHT)
numbers(bw.couple_on_braces, {"couple_n_m": 9}, "", couple_n_m=[-1, 999, INF], front=[-0.1, 1.1])
for bad in ({}, {"a": 2}, {"a": 0.6, "b": 0.6}, {"a": NAN}):
    row(bw.couple_on_braces, {"couple_n_m": 9}, "shares", bad, bw.InvalidInputError)
for bad in ({"a": "x"}, {5: 0.3}, [0.3]):
    row(bw.couple_on_braces, {"couple_n_m": 9}, "shares", bad, TypeError)
swap = {"old": LIGHT, "new": LIGHT, "bridge": PINNED}
numbers(bw.swap_strings, swap, "", design_couple_n_m=[0, -1, 999])
things(bw.swap_strings, swap, "old", "new", "bridge")
test = {"force_n": 20, "arm_mm": 100, "rotation_deg": 0.5}
numbers(bw.RotationTest, test, "N", force_n=[0, -1, 9000], u_force_n=[-1, 30])
numbers(bw.RotationTest, test, "mm", arm_mm=[0, -1, 9000])
numbers(bw.RotationTest, test, "deg", rotation_deg=[0, -1, 90], u_rotation_deg=[-1, 1])
dials = {"rise_behind_mm": 1, "sink_before_mm": 0.5, "apart_mm": 30}
numbers(bw.bridge_rotation_deg, dials, "mm", rise_behind_mm=[99, -99], sink_before_mm=[99, INF], apart_mm=[0, -1, 9000])
first = {"load": LOADED, "stiffness_n_m_per_deg": 8, "limit_deg": 2}
numbers(bw.stringing, first, "", stiffness_n_m_per_deg=[0, -1, INF, 1e6], u_stiffness=[-0.1, 2], service_class=[0, 1.5, 4])
numbers(bw.stringing, first, "deg", limit_deg=[0, -1, 90])
things(bw.stringing, first, "load")
STAGES = bw.stringing(**first)
words(STAGES.judge, {"stage": "1 hour", "rotation_deg": 1}, stage="tea time")
numbers(STAGES.judge, {"stage": "1 hour", "rotation_deg": 1}, "deg", rotation_deg=[0, -1, 90], u_deg=[-1, 90])
numbers(bw.creep_ratio, {"hours": 1}, "", hours=[-1, 1e9, INF], k_def=[-1, 99])
numbers(bw.creep_outlook, {"elastic": 1}, "", elastic=[INF, 1e9], service_class=[0, 2.5, 4])
lists(bw.creep_outlook, {"elastic": 1}, "", years=[[-1], [NAN], [1e9]])
trended = {"hours": [1, 24, 168], "rotation_deg": [0.9, 1.0, 1.1]}
lists(bw.rotation_trend, trended, "", hours=[[1, 24], [0, 24, 168], [1, 1, 2], [24, 1, 168], [1, 24, NAN], []])
row(bw.rotation_trend, trended, "hours", [1, 1.0001, 1.0002], bw.InvalidInputError, "log time")
lists(bw.rotation_trend, trended, "deg", rotation_deg=[[1, 2], [1, 2, NAN], [1, 2, 99]])
numbers(bw.rotation_trend, trended, "deg", u_deg=[0, -1, 90])
numbers(bw.rotation_trend, trended, "", coverage=[0, 0.2, 1, 1.5])
TREND = bw.rotation_trend(**trended)
numbers(TREND.at_hours, {"hours": 1}, "", hours=[0, -1, 1e9, INF])
numbers(TREND.years_until, {"limit_deg": 2}, "deg", limit_deg=[99, INF])
moved = {"rotation_deg": 1, "height_mm": 13, "scale_mm": 645}
numbers(bw.action_change, moved, "deg", rotation_deg=[-11, 11, INF])
numbers(bw.action_change, moved, "mm", arch_rise_mm=[99, INF], height_mm=[0, 99], scale_mm=[0, 9000], pivot_behind_mm=[99, INF])
numbers(bw.action_change, moved, "", fret=[0, -1, 30])
numbers(bw.duration_of_load_factor, {"duration_s": 60}, "", duration_s=[0, -1, 1e99, INF])
numbers(bw.k_mod, {}, "", service_class=[0, -1, 4, 1.5])
words(bw.k_mod, {}, duration="for a while")
numbers(bw.k_def, {}, "", service_class=[0, -1, 4, 1.5])
beam = {"height_mm": 15, "span_mm": 400}
numbers(bw.size_factor, beam, "mm", height_mm=[0, -1, 1e9], span_mm=[0, -1], between_loads_mm=[-1, 401])
words(bw.cautions, {}, hazards="dragons")
row(bw.cautions, {}, "hazards", 5, TypeError)
OLD = bw.Wood.published("Sitka spruce (1999)")
under = {"brace": BRACE, "top": OLD, "thickness_mm": 2.8, "plate_width_mm": 60, "grain_angle_deg": 50}
numbers(bw.ArchStrip.under, under, "mm", thickness_mm=[0, -1, 99], plate_width_mm=[0, -1, 999])
numbers(bw.ArchStrip.under, under, "deg", grain_angle_deg=[-1, 91])
numbers(bw.ArchStrip.under, under, "", r_edge=[-0.1, 1.1, INF])
things(bw.ArchStrip.under, under, "brace", "top")
block = {
    "length_mm": 300, "plate_width_mm": 60, "thickness_mm": 2.8, "plate_modulus_gpa": 1.4, "movement_per_percent_mc": 0.001,
    "brace_modulus_gpa": 11, "brace_width_mm": 8, "brace_height_mm": 15,
}  # fmt: skip
numbers(
    bw.ArchStrip.rectangular, block, "mm", length_mm=[0, -1, 9000], plate_width_mm=[0, 999], thickness_mm=[0, 99],
    brace_width_mm=[0, 999], brace_height_mm=[0, -1, 99],
)  # fmt: skip
numbers(bw.ArchStrip.rectangular, block, "GPa", plate_modulus_gpa=[0, -1, 99], brace_modulus_gpa=[0, -1, 99])
numbers(bw.ArchStrip.rectangular, block, "", movement_per_percent_mc=[-1, 1, INF], r_edge=[-0.1, 1.1])
STRIP = bw.ArchStrip.under(**under)
numbers(STRIP.with_r_edge, {"r_edge": 0.5}, "", r_edge=[-0.1, 1.1])
numbers(STRIP.change, {"from_mc_percent": 8, "to_mc_percent": 6}, "%", from_mc_percent=[-1, 31], to_mc_percent=[-1, 31, INF])
settled = {"read_mm": -0.3, "from_mc_percent": 8, "to_mc_percent": 6}
numbers(STRIP.learned_r_edge, settled, "", read_mm=[0.3, -9, 99, INF])
row(STRIP.learned_r_edge, settled, "to_mc_percent", 8, (bw.FitError, bw.InvalidInputError), "two humidities", said="r_edge")
numbers(STRIP.learned_r_edge, settled, "%", from_mc_percent=[-1, 31], to_mc_percent=[-1, 31])
pair = {"strain": 0.001, "ea_1_n": 1e5, "ei_1_n_m2": 0.1, "ea_2_n": 1e6, "ei_2_n_m2": 20, "apart_mm": 9}
numbers(bw.bimaterial_curvature_per_m, pair, "", strain=[-1, 1, INF])
numbers(bw.bimaterial_curvature_per_m, pair, "N", ea_1_n=[0, -1, INF], ea_2_n=[0, -1, INF])
numbers(bw.bimaterial_curvature_per_m, pair, "N m2", ei_1_n_m2=[0, -1, INF], ei_2_n_m2=[0, -1])
numbers(bw.bimaterial_curvature_per_m, pair, "mm", apart_mm=[0, -1, INF])
last = {
    "end_height_mm": 3, "length_mm": 300, "brace_width_mm": 8, "brace_modulus_gpa": 11.5, "brace_shear_gpa": 0.7,
    "thickness_mm": 2.8, "plate_width_mm": 60, "plate_modulus_gpa": 1.45, "plate_shear_gpa": 0.06,
}  # fmt: skip
numbers(
    bw.BraceEnd, last, "mm", end_height_mm=[0, -1, 99], length_mm=[0, 9000], brace_width_mm=[0, 999], thickness_mm=[0, 99],
    plate_width_mm=[0, 999], glue_mm=[-1, 9],
)  # fmt: skip
numbers(
    bw.BraceEnd, last, "GPa", brace_modulus_gpa=[0, 99], brace_shear_gpa=[0, 99], plate_modulus_gpa=[0, 99],
    plate_shear_gpa=[0, -1], glue_shear_gpa=[0, -1],
)  # fmt: skip
LAST = bw.BraceEnd(**last)
numbers(bw.BraceEnd.under, under, "mm", end_height_mm=[0, -1, 99], thickness_mm=[0, 99], plate_width_mm=[0, 999])
numbers(bw.BraceEnd.under, under, "deg", grain_angle_deg=[-1, 91])
things(bw.BraceEnd.under, under, "brace", "top")
numbers(LAST.end_lift, {"strain": 0.002}, "", strain=[-1, 1, INF])
numbers(LAST.end_lift, {"strain": 0.002}, "MPa", strength_mpa=[0, -1, 999])
drying = {"top": OLD, "from_mc_percent": 8, "to_mc_percent": 6}
numbers(bw.crack_stress_mpa, drying, "%", from_mc_percent=[-1, 31], to_mc_percent=[-1, 31])
things(bw.crack_stress_mpa, drying, "top")
AIRS = {
    "strip": STRIP, "top": OLD, "rh_percent": 45, "temperature_c": 21, "driest_rh_percent": 25, "dampest_rh_percent": 65,
    "built_arch_mm": 2,
}  # fmt: skip
numbers(bw.glue_gate, AIRS, "%", rh_percent=[0, -1, 99, INF], driest_rh_percent=[0, 66], dampest_rh_percent=[99, INF])
numbers(bw.glue_gate, AIRS, "deg", temperature_c=[-1, 51], service_temperature_c=[-1, 51])
numbers(bw.glue_gate, AIRS, "mm", built_arch_mm=[-1, 99], least_arch_mm=[-99, 99], most_rise_mm=[-1, 99])
numbers(bw.glue_gate, AIRS, "", most_crack_index=[-1, 99])
numbers(bw.glue_gate, AIRS, "MPa", tension_perpendicular_mpa=[0, -1, 99])
row(bw.glue_gate, AIRS, "top", WOOD, bw.InvalidInputError, "tension_perpendicular_mpa", said="Sitka spruce")
things(bw.glue_gate, AIRS, "strip", "top")
months = {"strip": STRIP, "top": OLD, "rh_percent": [40] * 12, "glued_mc_percent": 8, "built_arch_mm": 2}
lists(bw.season, months, "", rh_percent=[[40], [40] * 11, [], [40] * 11 + [NAN], [40] * 11 + [0], [40] * 11 + [101]])
lists(bw.season, months, "", temperature_c=[[20] * 11, [], [20] * 11 + [90], [NAN]])
numbers(bw.season, months, "%", glued_mc_percent=[-1, 31])
numbers(bw.season, months, "mm", built_arch_mm=[-1, 99])
numbers(bw.season, months, "", time_constant_days=[-1, 999, INF])
numbers(bw.season, months, "MPa", tension_perpendicular_mpa=[0, -1, 99])
things(bw.season, months, "strip", "top")


@pytest.mark.parametrize("call, given, kind, expected", ROWS)
def test_a_bad_call_gets_a_sentence(call, given, kind, expected):
    with pytest.raises(kind) as e:
        call(**given)
    said = sentence(e.value)
    # an argument that is a list is named with its place in it
    assert all(word.lower() in said.lower() for word in expected), said
    assert len(str(e.value)) > 15 and "Some(" not in said and "Err(" not in said, said


READERS = [
    bw.Profile.from_csv, bw.read_readings, bw.read_stock, bw.read_delivery, bw.read_weighings, bw.Wood.from_csv,
    bw.Wood.from_file,
]  # fmt: skip


@pytest.mark.parametrize(
    "text, place",
    [
        ("", ""),
        ("x_mm,height_mm\n", ""),
        ("x_mm,height_mm\n0,10\n100\n", "line 3"),
        ("x_mm,height_mm\n0,10\n100,ten\n", "line 3"),
        ("x_mm,height_mm\n0,10\n100,nan\n", "line 3"),
        ("x_mm,height_mm\n0,10,5\n100,9\n", "line 2"),
        ("x_mm,height_furlong\n0,10\n", "height"),
        ("place,size\n0,10\n", "x_mm"),
        ('x_mm,height_mm\n0,"10\n', ""),
        ("x_mm,height_mm\n0,10\n100,1,000\n", "line 3"),
    ],
)
@pytest.mark.parametrize("read", READERS)
def test_a_bad_file_is_named(tmp_path, read, text, place):
    path = tmp_path / "shop.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(bw.ReadingsError) as e:
        read(path)
    assert "shop.csv" in str(e.value)
    if read is bw.Profile.from_csv:
        assert place in str(e.value)


@pytest.mark.parametrize("read", READERS)
@pytest.mark.parametrize("path", [5, None, b"\xff", "no/such/file.csv", "."])
def test_a_bad_path_is_named(read, path):
    with pytest.raises((TypeError, OSError)) as e:
        read(path)
    assert "path" in sentence(e.value) or str(path) in str(e.value) or "file" in str(e.value)


@pytest.mark.parametrize(
    "text, words",
    [
        ("", "the text"),
        ("{", "the text"),
        ("[]", "the text"),
        ('{"schema": "bracewright/wood/2"}', "bracewright/wood/1"),
        ('{"schema": "bracewright/record/1"}', "bracewright/wood/1"),
        ('{"schema": 5}', "the text"),
        ('{"schema": "bracewright/wood/1"}', "the text"),
        ('{"schema": "bracewright/wood/1", "name": "x", "figures": {"modulus_l_gpa": -1}}', "the text"),
    ],
)
def test_a_file_of_another_schema(text, words):
    with pytest.raises((bw.ReadingsError, bw.InvalidInputError), match=words):
        bw.Wood.from_json(text)


def callables():
    """Every public callable of the package: functions, constructors, and the methods of one value of each class."""
    values = [
        WOOD, BLANK, SHAPE, RIG, BRACE, PLAN, PLAN.passes[0], GOAL, BENCH, CARVING, LOT, TABLE, CURVE, HAND, BELIEF, READING, BAR,
        bw.Section.parabolic_cap(rise_mm=5), bw.Gauge(), BRACE.working([100]), BRACE.sensitivity(RIG, places=3),
        bw.Load(1, 1), bw.Support.pad(1), SOUND, FOUND, RING, STATE, STICK, bw.LengthwiseTap(BLANK), TOP, WEIGHED, PRIORS,
        PRIORS.modulus_gpa, STICK.modulus(TAPPED),
        bw.Load(1, 1), bw.Support.pad(1), SOUND, FOUND, RING, STATE, TAP, GLUE, SHAPES, FILE, bw.Budget(1.0, [LINE]),
        LIGHT, TENSIONS, PINNED, STAGES, TREND, STRIP, LAST, WHOLE, WHOLE_UNDER, WHOLE_MODES,
    ]  # fmt: skip
    out = []
    for name in bw.__all__:
        thing = getattr(bw, name)
        if inspect.isclass(thing) and issubclass(thing, Exception):
            continue
        out.append((name, thing))
        if inspect.isclass(thing):
            for own in dir(thing):
                static = not own.startswith("_") and isinstance(inspect.getattr_static(thing, own), staticmethod)
                if static and own != "_restored":
                    out.append((f"{name}.{own}", getattr(thing, own)))
    for value in values:
        for own in dir(value):
            if own.startswith("_") or own in ("plot", "svg", "to_pandas", "to_dict"):
                continue
            method = getattr(value, own)
            if callable(method):
                out.append((f"{type(value).__name__}.{own}", method))
    return out


CALLABLES = callables()
GOOD = [
    WOOD, BLANK, SHAPE, RIG, BRACE, GOAL, HAND, WINDOW, RULE, CURVE, TABLE, BAR, READING, ELEVEN, BELIEF, LOT, PLAN,
    "scallop depth", "cosine", "crest", "left", "height", 1, 8.0, 16.0, 210, 420, 0.05, [0, 210, 420], [5, 16, 5], "5/16 in",
    "2 kg", SOUND, FOUND, RING, STATE, BANDS, SAMPLES, 8000, [SOUND], HEARD, TAPPED, TWIST, THREE, STATIC, STOCK, GRADED, TOP,
    "2,0", CAVITY, PLATE, BODY, BODY_TAPS, OF_BODY, "open", "lower",
    "2 kg", SOUND, FOUND, RING, STATE, BANDS, SAMPLES, 8000, [SOUND], [LINE], AIR, [BEND, TAP], GRID, PLACES, TAPS,
    "modulus along", "H1", "time response", FILE.to_bytes(), [0.5, 1.5],
    OUTLINE, HOLE, EVEN, PINS, STOOD, XS, TOP_, "bass leg", (0, 300), bw.Ending.butted("bass leg"), bw.LayoutLimits(),
    [FIRST], "E4", LIGHT, PINNED, LOADED, STRIP, OLD, 645, [40] * 12, "1 hour", "permanent", {"left leg": 0.3}, "strings",
    ON_TOP, [ON_TOP], SQUARE, "elastic", (0, 340),
]  # fmt: skip
JUNK = [
    None, True, -1, 0, 1e-275, 1e300, -1e300, 5e-324, NAN, INF, -INF, 10**400, -(10**400), 2**63, 1j, "", "nan", "5 furlongs",
    "\ud800", "1,234 mm", "9" * 400, b"x", [], [[]], [NAN], [INF, 1], [1, "2 mm"], [[1, 2], [3]], (1, 2), [(1, 2)], [(1, 2, 3)],
    {}, {"a": 1}, set(), object(), int, lambda: 0, np.zeros(0), np.zeros((2, 2)), np.array(["a"]), np.array([1 + 1j]), range(3),
    np.float32(3), np.array(3.0), np.datetime64("2020-01-01"), random.Random,
]  # fmt: skip


def arguments(call):
    try:
        return [p for p in inspect.signature(call).parameters.values() if p.name != "self"]
    except (TypeError, ValueError):
        return []


@settings(max_examples=600, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_junk_gets_only_our_own_errors(data):
    name, call = data.draw(st.sampled_from(CALLABLES), label="call")
    known = arguments(call)
    anything = st.one_of(
        st.sampled_from(JUNK), st.sampled_from(GOOD), st.sampled_from(GOOD), st.floats(), st.lists(st.floats(), max_size=4),
        st.text(max_size=6), st.integers(-3, 40),
    )  # fmt: skip
    args, kwargs = [], {}
    for p in known:
        if p.default is not inspect.Parameter.empty and not data.draw(st.booleans()):
            continue
        value = data.draw(anything, label=p.name)
        if p.name == "draws" and isinstance(value, int) and not isinstance(value, bool) and value > 10_000:
            value = 500
        if p.kind is inspect.Parameter.KEYWORD_ONLY:
            kwargs[p.name] = value
        elif p.name not in kwargs and len(args) == known.index(p):
            args.append(value)
        else:
            kwargs[p.name] = value
    try:
        call(*args, **kwargs)
    except (bw.BracewrightError, TypeError, ValueError, OverflowError) as e:
        assert str(e), name
    except OSError:
        assert "from_" in name or name.startswith("read_") or name == "many_recordings", name
