"""Errors at the border: their classes, their words, and that no bad input gets through."""

import copy
import math
import pickle

import bracewright as bw
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st


def test_invalid_input_is_a_value_error_and_names_argument_value_unit_and_range(wood):
    with pytest.raises(bw.InvalidInputError, match=r"width_mm is -8 mm; it must be above 0") as e:
        bw.Blank(wood, length_mm=420, width_mm=-8, height_mm=17)
    assert isinstance(e.value, ValueError) and isinstance(e.value, bw.BracewrightError)


def test_every_kind_of_core_error(wood, blank, brace, rig, tmp_path):
    # OutOfRange
    with pytest.raises(bw.InvalidInputError, match="rh_percent is 120 % RH; it must be from 0 to 100"):
        bw.emc_percent(temperature_c=20, rh_percent=120)
    # LengthMismatch
    with pytest.raises(bw.InvalidInputError, match="at_mm has 3 values but height_mm has 2"):
        bw.Profile.measured(at_mm=[0, 100, 200], height_mm=[5, 6])
    # BadList
    with pytest.raises(bw.InvalidInputError, match="at_mm must increase"):
        bw.Profile.measured(at_mm=[0, 200, 100], height_mm=[5, 6, 7])
    # UnknownName
    with pytest.raises(bw.InvalidInputError, match=r"wood is \"Stika\"; it must be one of: Sitka spruce"):
        bw.Wood.published("Stika")
    # Refused
    with pytest.raises(bw.InvalidInputError, match="the profile is 400 mm long and the blank 420 mm"):
        bw.Brace(blank, bw.Profile.straight(400, 10))
    # Schema
    with pytest.raises(bw.ReadingsError, match="bracewright/wood/9"):
        bw.Wood.from_json('{"schema": "bracewright/wood/9", "name": "x", "figures": {}}')
    # Unreadable: line and column
    path = tmp_path / "stations.csv"
    path.write_text("x_mm,height_mm\n0,10\n100,abc\n")
    with pytest.raises(bw.ReadingsError, match=r"stations\.csv line 3.*height_mm") as e:
        bw.Profile.from_csv(path)
    assert isinstance(e.value, ValueError)
    # NotIdentifiable
    with pytest.raises(bw.FitError, match="second, shorter span") as e:
        bw.fit_readings(brace, span_mm=[380] * 4, load_n=[5, 10, 15, 20], deflection_mm=[0.5, 1, 1.5, 2], beam="section")
    assert not isinstance(e.value, ValueError)


def test_a_missing_file_is_the_usual_exception(tmp_path):
    with pytest.raises(FileNotFoundError) as e:
        bw.Wood.from_file(tmp_path / "nothing.json")
    assert "nothing.json" in str(e.value)


def test_a_file_that_is_no_text(tmp_path):
    path = tmp_path / "wood.csv"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(bw.ReadingsError, match=r"wood\.csv: is not UTF-8"):
        bw.Wood.from_csv(path)


@pytest.mark.parametrize(
    "given_value, words",
    [
        ([1, 2], "a length must be a number in mm, .*not list"),
        (None, "not NoneType"),
        (True, "not bool"),
        (1j, "not complex"),
        (np.zeros((2, 2)), "not ndarray"),
        (object(), "not object"),
    ],
)
def test_a_wrong_type_gets_a_sentence(given_value, words):
    with pytest.raises(TypeError, match=words) as e:
        bw.Profile.straight(given_value, 16)
    assert any("length_mm" in note for note in e.value.__notes__)


@pytest.mark.parametrize(
    "given_value, words",
    [
        ("420", 'length "420" has no unit'),
        ("16 furlong", "furlong"),
        ("", "length"),
        ("nan mm", "not a finite number"),
    ],
)
def test_a_text_that_is_no_length(given_value, words):
    with pytest.raises(bw.InvalidInputError, match=words):
        bw.Profile.straight(given_value, 16)


def test_arrays_of_the_wrong_shape_or_kind(brace):
    with pytest.raises(bw.InvalidInputError, match="x_mm has 2 dimensions; give one list of numbers in mm"):
        brace.ei_n_m2(np.zeros((2, 2)))
    with pytest.raises(bw.InvalidInputError, match="x_mm is no list of numbers"):
        brace.ei_n_m2([[1, 2], [3]])
    with pytest.raises(bw.InvalidInputError, match="x_mm is no list of numbers"):
        brace.ei_n_m2(["here", "there"])
    with pytest.raises(bw.InvalidInputError, match="x_mm is no list of numbers"):
        brace.ei_n_m2([1.0, None])
    with pytest.raises(bw.InvalidInputError, match="x_mm is no list of numbers"):
        brace.ei_n_m2(object())
    with pytest.raises(bw.InvalidInputError, match=r"x_mm\[1\] is NaN"):
        brace.ei_n_m2([1.0, math.nan])
    with pytest.raises(bw.InvalidInputError, match=r"x_mm\[0\] is -1 mm; it must be from 0 to 420 mm"):
        brace.ei_n_m2([-1])


def test_words_and_pairs(brace, shape):
    with pytest.raises(bw.InvalidInputError, match=r"dial is \"top\"; it must be one of: underside, crest, mid"):
        brace.bend([(210, 20)], supports=[20, 400], at_mm=210, dial="top")
    with pytest.raises(bw.InvalidInputError, match="exactly one of rise_mm and rise_of_height"):
        bw.Section.parabolic_cap()
    with pytest.raises(bw.InvalidInputError, match="exactly one of rise_mm and rise_of_height"):
        bw.Section.rounded_cap(rise_mm=4, rise_of_height=0.3)
    with pytest.raises(bw.InvalidInputError, match="length_mm, or left_mm and right_mm together"):
        shape.with_scallop(at_mm=210, depth_mm=2, length_mm=20, left_mm=5)
    with pytest.raises(bw.InvalidInputError, match="blend"):
        shape.with_ends(length_mm=40, height_mm=2, blend="wavy")
    with pytest.raises(TypeError, match="Blank or a Brace"):
        bw.plan_passes(shape, brace, max_depth_mm=1)
    with pytest.raises(TypeError, match=r"loads must be a list of Load"):
        brace.bend([{"x_mm": 210}], supports=[20, 400], at_mm=210)


def test_bench_refuses_in_words(bench, plan, rig):
    other = bw.ThreePoint(span_mm=360, load_n=19.6)
    with pytest.raises(bw.InvalidInputError, match="rig of its goal"):
        bw.Bench(plan, other, goal=rig.between(1, 2))
    with pytest.raises(bw.InvalidInputError, match="give deflection_mm or reading, not both"):
        bench.after_reading(1.0, reading=rig.reading(1.0))
    with pytest.raises(bw.InvalidInputError, match="x_mm and height_mm go together"):
        bench.after_pass(x_mm=[1, 2])
    with pytest.raises(bw.InvalidInputError, match="there is no reading"):
        bench.after_reading()


@pytest.mark.parametrize("cls", [bw.BracewrightError, bw.InvalidInputError, bw.ReadingsError, bw.FitError])
def test_exceptions_travel_between_processes(cls):
    e = pickle.loads(pickle.dumps(cls("span_mm is 0 mm; it must be above 0")))
    assert type(e) is cls and str(e) == "span_mm is 0 mm; it must be above 0"
    assert type(copy.deepcopy(e)) is cls


anything = st.one_of(
    st.floats(),
    st.integers(),
    st.text(max_size=8),
    st.none(),
    st.booleans(),
    st.lists(st.floats(), max_size=3),
    st.binary(max_size=3),
)


@given(anything, anything, anything)
def test_no_input_gets_through_as_anything_but_a_blank_or_a_sentence(length, width, height):
    wood = bw.Wood.published("Sitka spruce")
    try:
        blank = bw.Blank(wood, length_mm=length, width_mm=width, height_mm=height)
    except (bw.BracewrightError, TypeError) as e:
        assert str(e)
    else:
        assert math.isfinite(blank.volume_mm3) and blank.volume_mm3 >= 0 and math.isfinite(blank.density_kg_m3)


@given(st.text(max_size=40))
def test_a_broken_state_is_refused_in_words(state):
    for cls in (bw.Brace, bw.Wood, bw.Profile, bw.Plan):
        with pytest.raises(bw.ReadingsError, match=f"state of a {cls.__name__}"):
            cls._restored(state)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: bw.Blank(bw.Wood.published("Sitka spruce"), 420, 8, 17), "height_mm=17"),
        (lambda: bw.Blank(bw.Wood.published("Sitka spruce"), length_mm=420), "width_mm, height_mm must be given"),
        (lambda: bw.Bar(206, 10, 8), "modulus_gpa=206"),
        (lambda: bw.ThreePoint(380, 20), "span_mm=380"),
        (lambda: bw.Rig.four_point(380, 120, 20), "inner_mm=120"),
        (lambda: bw.Rig.cantilever(reach_mm=200), "load_n must be given"),
        (lambda: bw.BarePlate(bw.Wood.published("Sitka spruce"), 520, 400, 3.2, 272), "thickness_mm=3.2"),
        (lambda: bw.Profile.straight(420, 16).with_ends(50, 3), "height_mm=3"),
        (lambda: bw.Profile.straight(420, 16).with_scallop(110, 100, 7), "depth_mm=7"),
        (lambda: bw.Profile.straight(420, 16).with_scallop(at_mm=110, length_mm=100), "depth_mm must be given"),
    ],
)
def test_sizes_go_by_name(call, words):
    with pytest.raises(TypeError, match="given") as e:
        call()
    assert words in str(e.value)


def test_a_window_no_brace_can_bend_to_is_refused():
    rig = bw.ThreePoint(span_mm=380, load_n=20)
    with pytest.raises(bw.InvalidInputError, match="check the decimal"):
        rig.between(15, 16)
    assert rig.between(1.5, 1.6).high == 1.6
