"""Writes data/plane_stress.json: reference values of the resolved beam by an independent plane-stress solution.

    OPENBLAS_NUM_THREADS=1 python -m tests.oracles.make_table [case ...]

With names, only those cases are solved again; the others stay as stored. Each case carries everything needed to build
it elsewhere; the table begins with its conventions (data/conventions.json).
"""

from __future__ import annotations

import json
import platform
import sys
import time
from pathlib import Path

import numpy
import scipy
import skfem

from .plane_stress import solve

TABLE = Path(__file__).parent / "data" / "plane_stress.json"

CONVENTIONS = json.loads((TABLE.parent / "conventions.json").read_text())

SPRUCE = {"e_x_mpa": 11000.0, "e_z_mpa": 473.0, "g_xz_mpa": 671.0, "nu_xz": 0.467}
# spruce across a crossing leg: R along the brace, T in the height; shear weak, as it is in that plane
ACROSS = {"e_x_mpa": 858.0, "e_z_mpa": 473.0, "g_xz_mpa": 40.0, "nu_xz": 0.43}
RECTANGLE = {"kind": "rectangle", "width_mm": 8.0}
FLAT = {"kind": "flat", "h_mm": 16.0}
TAPER = {"kind": "pieces", "law": "linear", "x_mm": [0.0, 200.0, 400.0], "h_mm": [4.0, 16.0, 4.0]}
DOUBLE = {
    "kind": "pieces",
    "law": "half-cosine",
    "x_mm": [0.0, 50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0],
    "h_mm": [13.0, 8.0, 13.0, 8.0, 16.0, 8.0, 13.0, 8.0, 13.0],
}
STEEP_AT = (90.0, 124.0, 158.0, 242.0, 276.0, 310.0)
STEEP = {
    "kind": "scalloped",
    "base": FLAT,
    "scallops": [{"at_mm": x, "left_mm": 17.0, "right_mm": 17.0, "depth_mm": 9.0} for x in STEEP_AT],
}
FEATHERED = {
    "kind": "scalloped",
    "base": {"kind": "pieces", "law": "linear", "x_mm": [0.0, 60.0, 330.0, 400.0], "h_mm": [2.0, 16.0, 15.0, 2.0]},
    "scallops": [
        {"at_mm": 120.0, "left_mm": 40.0, "right_mm": 55.0, "depth_mm": 7.0},
        {"at_mm": 290.0, "left_mm": 50.0, "right_mm": 35.0, "depth_mm": 6.0},
    ],
}
SLAB = [{"kind": "body", "from_mm": 196.0, "to_mm": 204.0, "force_n": 20.0}]
MIDDLE = [{"x_mm": 200.0, "where": "mid-height"}]
ENDS = {"kind": "ends"}
PADS = {"kind": "pads", "at_mm": [20.0, 380.0], "pad_mm": 10.0}
CREST = [{"kind": "crest", "from_mm": 195.0, "to_mm": 205.0, "force_n": 20.0}]
FACES = [{"x_mm": 200.0, "where": w} for w in ("crest", "glue", "mid-height")]
THREE_POINT = {"supports": PADS, "loads": CREST, "read": FACES}
SOURCE_3D = "CalculiX 2.20, quadratic hexahedra, mesh error below 0.01 % (as the issue states); standing: secondary"


def known(value: float) -> dict:
    """A 3-D result to meet."""
    return {"value_mm": value, "source": SOURCE_3D}


def case(words: str, height: dict, **other) -> dict:
    """A case with the usual brace, load and support unless told otherwise."""
    usual = {"section": RECTANGLE, "material": SPRUCE, "loads": SLAB, "supports": ENDS, "read": MIDDLE}
    return {"words": words, "length_mm": 400.0, "height": height, **usual, **other}


def frequency_case(words: str, height: dict, **other) -> dict:
    """First three bending frequencies of the free brace, 420 kg/m3."""
    more = {"density_kg_m3": 420.0, "frequencies": 3, "loads": [], "read": [], "supports": {"kind": "free"}}
    return case(words, height, **more, **other)


def notched(face: str) -> dict:
    """A half-height notch, 145 to 155."""
    return {"notches": [{"face": face, "start_mm": 145.0, "end_mm": 155.0, "to_mm": 8.0}], "mesh": CORNERS}


def bending_case(words: str, height: dict, **other) -> dict:
    """Rotations under pure bending of 1 N m at 21 stations."""
    more = {
        "end_couple_nmm": 1000.0,
        "stations_mm": [20.0 * i for i in range(21)],
        "loads": [],
        "supports": {"kind": "free"},
    }
    return case(words, height, **more, **other)


PARABOLIC_CAP = {"kind": "cap", "width_mm": 8.0, "rise_mm": 5.0, "power": 0.5}
TRIANGULAR_CAP = {"kind": "cap", "width_mm": 8.0, "rise_mm": 5.0, "power": 1.0}
# steep walls stretch the elements and crowd the stress under the crest
FINE = {"size_mm": 1.25, "through_height": 8, "crest_power": 1.5}
CORNERS = {"size_mm": 4.0, "through_height": 3, "finest_mm": 0.05}
SIDES = {"kind": "sides", "width_mm": 8.0, "crest_width_mm": 5.0}
TIP = {
    "loads": [{"kind": "body", "from_mm": 392.0, "to_mm": 400.0, "force_n": 2.0}],
    "supports": {"kind": "clamped-left"},
    "mesh": CORNERS,
    "read": [{"x_mm": 400.0, "where": "mid-height"}],
}

CASES = {
    "straight": case("straight, 16 high", FLAT),
    "taper": case("straight taper 4 - 16 - 4", TAPER, reference_3d=known(2.317738)),
    "parabola": case(
        "parabola 6 - 16 - 6",
        {"kind": "parabola", "centre_mm": 200.0, "half_length_mm": 200.0, "h_centre_mm": 16.0, "h_end_mm": 6.0},
    ),
    "double scallop": case("half-cosine pieces 13 8 13 8 16 8 13 8 13", DOUBLE, reference_3d=known(3.548292)),
    "steep scallops": case(
        "six cosine scallops, depth 9, length 34: steepest wall 39.7 degrees; narrow peaks between", STEEP, mesh=FINE
    ),
    "feathered, overhanging": case(
        "unsymmetric scallops between end tapers down to 2; pads 20 from each end; body load off centre",
        FEATHERED,
        supports=PADS,
        loads=[{"kind": "body", "from_mm": 171.0, "to_mm": 179.0, "force_n": 20.0}],
        read=[{"x_mm": x, "where": "mid-height"} for x in (175.0, 200.0, 60.0, 0.0)],
    ),
    "parabolic cap, straight": case("16 high, cap rise 5", FLAT, section=PARABOLIC_CAP),
    "parabolic cap, double scallop": case("the double scallop, cap rise 5", DOUBLE, section=PARABOLIC_CAP),
    "triangular cap, double scallop": case("the double scallop, cap rise 5", DOUBLE, section=TRIANGULAR_CAP),
    "parabolic cap, feathered": case(
        "cap rise 5 where the ends go down to 2: the rise is the height there",
        FEATHERED,
        section=PARABOLIC_CAP,
        supports=PADS,
        read=[{"x_mm": x, "where": "mid-height"} for x in (200.0, 60.0)],
    ),
    "tapered sides, straight": case("8 wide at the glue face, 5 at the crest, 16 high", FLAT, section=SIDES),
    "tapered sides, double scallop": case("8 wide at the glue face, 5 at every crest", DOUBLE, section=SIDES),
    "three-point, straight": case("pads and crest load, read on crest, glue face, middle", FLAT, **THREE_POINT),
    "three-point, double scallop": case("pads and crest load, read on crest, glue face, middle", DOUBLE, **THREE_POINT),
    "three-point, steep scallops": case(
        "pads and crest load, read on crest, glue face, middle", STEEP, **THREE_POINT, mesh=FINE
    ),
    "load on the glue face": case(
        "weight hung from the glue face of the double scallop, off centre, with a second one on the crest",
        DOUBLE,
        supports=PADS,
        loads=[
            {"kind": "glue", "from_mm": 145.0, "to_mm": 155.0, "force_n": 12.0},
            {"kind": "crest", "from_mm": 295.0, "to_mm": 305.0, "force_n": 8.0},
        ],
        read=[
            {"x_mm": 150.0, "where": "crest"},
            {"x_mm": 150.0, "where": "glue"},
            {"x_mm": 300.0, "where": "mid-height"},
        ],
    ),
    "cantilever, straight": case("clamped left face, tip load in the last 8 mm", FLAT, **TIP),
    "cantilever, taper": case(
        "16 at the clamp, 5 at the tip",
        {"kind": "pieces", "law": "linear", "x_mm": [0.0, 400.0], "h_mm": [16.0, 5.0]},
        **TIP,
    ),
    "glue notch": case("half-height notch from the glue face, 145 to 155", FLAT, **notched("glue")),
    "crest notch": case("half-height notch from the crest, 145 to 155", FLAT, **notched("crest")),
    "glue notch, double scallop": case(
        "notch 5 deep from the glue face under the middle peak, 195 to 205, with the load above it",
        DOUBLE,
        notches=[{"face": "glue", "start_mm": 195.0, "end_mm": 205.0, "to_mm": 5.0}],
        mesh={**CORNERS, "size_mm": 2.5},
    ),
    "glue notch, off centre": case(
        "notch 5 deep from the glue face, 131.3 to 144.9, walls where nothing else is",
        FLAT,
        notches=[{"face": "glue", "start_mm": 131.3, "end_mm": 144.9, "to_mm": 5.0}],
        mesh=CORNERS,
        read=[{"x_mm": x, "where": "mid-height"} for x in (200.0, 120.0)],
    ),
    "crest notch, shallow": case(
        "notch 2 deep from the crest, 210 to 226",
        FLAT,
        notches=[{"face": "crest", "start_mm": 210.0, "end_mm": 226.0, "to_mm": 14.0}],
        mesh=CORNERS,
    ),
    "crest notch, scallop floor": case(
        "notch 3 deep from the crest where the double scallop is 8 high, 146 to 155; the crest slopes at both walls",
        DOUBLE,
        notches=[{"face": "crest", "start_mm": 146.0, "end_mm": 155.0, "to_mm": 5.0}],
        mesh={**CORNERS, "size_mm": 2.5},
    ),
    "glue notch, wooden cap": case(
        "half-height notch from the glue face, 185.5 to 194.5, a strip 3 thick on the crest above it",
        FLAT,
        notches=[{"face": "glue", "start_mm": 185.5, "end_mm": 194.5, "to_mm": 8.0, "strip_mm": 3.0}],
        mesh=CORNERS,
    ),
    "crest notch, filled": case(
        "half-height notch from the crest, 180 to 190, a crossing leg glued into it",
        FLAT,
        notches=[{"face": "crest", "start_mm": 180.0, "end_mm": 190.0, "to_mm": 8.0, "filled": True}],
        filler=ACROSS,
        mesh=CORNERS,
    ),
    "crest notch, filled, wooden cap": case(
        "the same under a strip 3 thick; wood and strip all but meet at a point, hence the fine corners",
        FLAT,
        notches=[{"face": "crest", "start_mm": 180.0, "end_mm": 190.0, "to_mm": 8.0, "filled": True, "strip_mm": 3.0}],
        filler=ACROSS,
        mesh={**CORNERS, "size_mm": 8.0, "finest_mm": 0.001},
    ),
    "frequencies, crest notch": frequency_case(
        "half-height notch from the crest, 145 to 155",
        FLAT,
        **notched("crest"),
    ),
    "arched glue face": case(
        "16 high on a circular glue face of radius 5 m",
        FLAT,
        base={"kind": "arc", "radius_mm": 5000.0, "centre_mm": 200.0, "half_length_mm": 200.0},
    ),
    "frequencies, straight": frequency_case("16 high", FLAT),
    "frequencies, double scallop": frequency_case("the double scallop", DOUBLE),
    "frequencies, feathered": frequency_case("unsymmetric scallops, ends down to 2", FEATHERED),
    "pure bending, straight": bending_case("16 high: rotation is M x / EI", FLAT),
    "pure bending, double scallop": bending_case("the double scallop", DOUBLE),
    "pure bending, steep scallops": bending_case("the steep scallops", STEEP, mesh=FINE),
}


def main(names: list[str]) -> None:
    """Solve the named cases (all without names) and store the table after each."""
    old = json.loads(TABLE.read_text()) if TABLE.exists() else {"cases": {}}
    versions = {
        "python": platform.python_version(),
        "scikit-fem": skfem.__version__,
        "numpy": numpy.__version__,
        "scipy": scipy.__version__,
    }
    done = {k: v for k, v in old["cases"].items() if k in CASES}
    for name in names or CASES:
        spec, start = CASES[name], time.perf_counter()
        result = solve(spec)
        done[name] = {"input": spec, **result, "seconds": round(time.perf_counter() - start, 1), "versions": versions}
        ordered = {k: done[k] for k in CASES if k in done}
        TABLE.parent.mkdir(exist_ok=True)
        table = {"schema": "plane-stress-reference", "version": 1, "conventions": CONVENTIONS, "cases": ordered}
        TABLE.write_text(json.dumps(table, indent=1) + "\n")
        shown = {k: [float(f"{x:.7g}") for x in v] for k, v in result["values"].items()}
        print(f"{name:32s} {done[name]['seconds']:6.1f} s  {shown}  mesh {result['mesh_error_rel']}", flush=True)
        if "reference_3d" in spec:
            ratio = result["values"]["deflections_mm"][0] / spec["reference_3d"]["value_mm"]
            print(f"{'':32s} against 3-D elasticity: {100 * (ratio - 1):+.4f} %")


if __name__ == "__main__":
    main(sys.argv[1:])
