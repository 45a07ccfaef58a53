"""The oracle stands on its own feet: closed forms, 3-D elasticity, and the stored table against a fresh solution."""

import json
from pathlib import Path

import pytest

from .plane_stress import solve

CASES = json.loads((Path(__file__).parent / "data" / "plane_stress.json").read_text())["cases"]

# height 15, width 8, cap rise 5: second moments in mm4, from the closed forms of elementary shapes (recomputed)
SECTIONS = {
    "rectangle": ({"kind": "rectangle", "width_mm": 8.0}, 2250.0, 0.0),
    "parabolic cap": ({"kind": "cap", "width_mm": 8.0, "rise_mm": 5.0, "power": 0.5}, 1692.38, 2e-4),
    "triangular cap": ({"kind": "cap", "width_mm": 8.0, "rise_mm": 5.0, "power": 1.0}, 1405.56, 0.0),
    "sides": ({"kind": "sides", "width_mm": 8.0, "crest_width_mm": 5.0}, 1795.67, 0.0),
}


@pytest.mark.parametrize("name", SECTIONS)
def test_pure_bending_of_a_prism_is_the_closed_form(name):
    section, second, quadrature = SECTIONS[name]
    spec = {**CASES["pure bending, straight"]["input"], "height": {"kind": "flat", "h_mm": 15.0}, "section": section}
    turn = solve({**spec, "stations_mm": [0.0, 400.0]}, levels=(1,))["values"]["rotations_rad"][1]
    # the figures carry two decimals; Gauss points in z do not integrate the root of a parabolic crest exactly
    assert turn == pytest.approx(1000.0 * 400.0 / (11000.0 * second), rel=0.005 / second + quadrature)


@pytest.mark.parametrize("name", CASES)
def test_stored_mesh_error_is_below_two_in_ten_thousand(name):
    assert CASES[name]["mesh_error_rel"], "a case without an error says nothing"
    assert all(0.0 <= e < 2e-4 for e in CASES[name]["mesh_error_rel"].values())


@pytest.mark.parametrize("name", [k for k, c in CASES.items() if "reference_3d" in c["input"]])
def test_meets_3d_elasticity(name):
    known = CASES[name]["input"]["reference_3d"]["value_mm"]
    assert CASES[name]["values"]["deflections_mm"][0] == pytest.approx(known, rel=1e-3)


@pytest.mark.parametrize("name", ["straight", "taper", "parabola", "double scallop", "steep scallops"])
def test_a_fresh_solution_is_the_stored_one(name):
    fresh = solve(CASES[name]["input"], levels=(1,))["values"]["deflections_mm"]
    assert fresh == pytest.approx(CASES[name]["values"]["deflections_mm"], rel=1e-4)
