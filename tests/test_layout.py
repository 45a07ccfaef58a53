"""Braced tops from Python: outlines against other readers and writers, clearances against points, files, the command."""

import json
import math
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import bracewright as bw
import ezdxf
import numpy as np
import pytest
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path.parser import parse_path
from matplotlib.path import Path as Polygon

PIN = bw.Bridge.pin(
    saddle_height_mm=12.5, end_height_mm=9, end_behind_mm=16, foot_length_mm=152, foot_width_mm=33, saddle_from_front_mm=11,
    top_thickness_mm=2.8,
)  # fmt: skip
TIE = bw.Bridge.tie(
    saddle_height_mm=11, end_height_mm=6, end_behind_mm=12, foot_length_mm=185, foot_width_mm=29, saddle_from_front_mm=8,
    top_thickness_mm=2.4,
)  # fmt: skip
SPRUCE = bw.Wood.published("Sitka spruce")
OUTLINE = bw.Outline.from_bouts(length_mm=505, upper_bout_mm=292, waist_mm=245, lower_bout_mm=400)
HOLE = bw.SoundHole.round(y_mm=151, diameter_mm=100)


def top(make, bridge, y_mm=286, **more):
    placed = bw.PlacedBridge(bridge, y_mm=y_mm)
    pattern = make(OUTLINE, hole=HOLE, bridge=placed, **more)
    return bw.Layout("a top", outline=OUTLINE, wood=SPRUCE, thickness=2.8, hole=HOLE, bridge=placed, pattern=pattern)


def polygon(outline):
    x, y, _ = outline.points(tolerance_mm=0.005)
    return np.column_stack([x, y])


def area(p):
    return 0.5 * abs(np.sum(p[:, 0] * np.roll(p[:, 1], -1) - p[:, 1] * np.roll(p[:, 0], -1)))


def test_inside_and_area_as_matplotlib_has_them():
    p = polygon(OUTLINE)
    assert OUTLINE.area_mm2 == pytest.approx(area(p), abs=0.005 * OUTLINE.perimeter_mm)
    places = np.random.default_rng(3).uniform([-220, -20], [220, 530], size=(2000, 2))
    clear = [abs(OUTLINE.distance_mm(*q)) > 0.01 for q in places]
    want = Polygon(p).contains_points(places)
    got = np.array([OUTLINE.contains(*q) for q in places])
    assert np.array_equal(got[clear], want[clear])


D = "M 10,20 c 40,-30 90,-10 120,30 s 60,90 20,150 q -40,60 -110,40 t -80,-60 A 60 90 25 0 1 -30 60 Z"


def test_svg_path_as_another_reader_has_it(tmp_path):
    """fontTools reads the path; its curves are followed here by points."""
    pen = RecordingPen()
    parse_path(D, pen)
    path, here = [], np.zeros(2)
    t = np.linspace(0, 1, 400)[:, None]
    for name, points in pen.value:
        q = [here, *(np.array(p, float) for p in points)]
        if name == "moveTo":
            path.append(q[1][None])
        elif name == "lineTo":
            path.append(q[1][None])
        elif name == "curveTo" and len(points) == 3:
            path.append((1 - t) ** 3 * q[0] + 3 * (1 - t) ** 2 * t * q[1] + 3 * (1 - t) * t**2 * q[2] + t**3 * q[3])
        elif name == "qCurveTo" and len(points) == 2:
            path.append((1 - t) ** 2 * q[0] + 2 * (1 - t) * t * q[1] + t**2 * q[2])
        elif name not in ("closePath", "endPath"):
            raise AssertionError(name)
        here = q[-1] if points else here
    want = np.concatenate(path)
    file = tmp_path / "outline.svg"
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">'
    file.write_text(f'{head}<path d="{D}"/></svg>')
    outline = bw.Outline.from_svg(file, centre_mm=50)
    # arcs of the other reader are cubics of quarter turns, some thousandths of the radius off
    assert outline.area_mm2 == pytest.approx(area(want), rel=1e-3)
    x0, x1, _, _ = outline.bounds_mm
    assert (x0 + 50, x1 + 50) == pytest.approx((want[:, 0].min(), want[:, 0].max()), abs=0.1)


def test_dxf_written_by_another_library(tmp_path):
    for version, unit, mm in (("R12", None, 1.0), ("R2010", 1, 25.4), ("R2018", 4, 1.0)):
        doc = ezdxf.new(version)
        if unit is not None:
            doc.header["$INSUNITS"] = unit
        corners = [(-100 / mm, 0, 1.0), (100 / mm, 0, 0.0), (100 / mm, 300 / mm, 1.0), (-100 / mm, 300 / mm, 0.0)]
        space = doc.modelspace()
        if version == "R12":
            space.add_polyline2d(corners, format="xyb", close=True)
        else:
            space.add_lwpolyline(corners, format="xyb", close=True)
        file = tmp_path / f"{version}.dxf"
        doc.saveas(file)
        outline = bw.Outline.from_dxf(file, unit_mm=1.0 if unit is None else None)
        assert outline.area_mm2 == pytest.approx(200 * 300 + math.pi * 100**2, rel=1e-7)
        assert outline.bounds_mm == pytest.approx((-100, 100, 0, 500), abs=1e-3)


def test_outline_from_points_and_tables(tmp_path):
    x, y, _ = OUTLINE.points(tolerance_mm=0.3)
    again = bw.Outline.from_points(x, y)
    assert again.area_mm2 == pytest.approx(OUTLINE.area_mm2, rel=2e-4)
    file = tmp_path / "outline.csv"
    file.write_text("x (in),y (in)\n" + "".join(f"{a / 25.4:.6f},{b / 25.4:.6f}\n" for a, b in zip(x, y, strict=True)))
    assert bw.Outline.from_csv(file).area_mm2 == pytest.approx(again.area_mm2, rel=1e-6)
    # a drawing seen from outside, its neck to the left
    half = polygon(OUTLINE)
    file.write_text("x_mm,y_mm\n" + "".join(f"{b:.6f},{a + 50:.6f}\n" for a, b in half))
    turned = bw.Outline.from_csv(file, smooth=False, neck="left")
    assert turned.bounds_mm == pytest.approx(OUTLINE.bounds_mm, abs=0.02)


def test_braces_end_where_the_chord_says():
    layout = top(bw.x_pattern, PIN)
    leg = layout.brace("bass leg")
    crossing = layout.crossings[0]
    behind, ahead = OUTLINE.chord(crossing.x_mm, crossing.y_mm, angle_deg=49, inset_mm=3.5)
    assert leg.start_mm == pytest.approx(behind, abs=1e-6) and leg.end_mm == pytest.approx(ahead, abs=1e-6)
    assert leg.brace.length_mm == pytest.approx(leg.length_mm) and leg.angle_deg == pytest.approx(49)
    assert crossing.angle_deg == pytest.approx(82) and (crossing.first, crossing.second) == (1, 2)
    assert crossing.notch_first_mm == pytest.approx(8 / math.sin(math.radians(98)))


def test_fans_and_pins():
    """Common practice, no source: a fan under a pin bridge runs into pins where an X stays clear; a tie bridge frees the fan."""

    def clashes(layout):
        return sum(r.state == "clash" for r in layout.check().rows if r.check.startswith("pins"))

    assert clashes(top(bw.x_pattern, PIN)) == 0
    assert clashes(top(bw.fan_pattern, PIN)) >= 1
    assert clashes(top(bw.fan_pattern, TIE)) == 0
    report = top(bw.fan_pattern, PIN).check()
    assert not report.ok and any(w.startswith("CLASH") for w in report.words) and report.chance_at_most == 1.0
    assert "Cautions" in str(report) and len(report.to_pandas()) == len(report.rows)


def test_distances_as_points_have_them():
    """Clearances of hole and pins are the least distances between points of both edges, found here one by one."""
    layout = top(bw.x_pattern, PIN)
    report = layout.check()
    hx, hy = HOLE.points(tolerance_mm=0.001)
    edge = np.column_stack([hx, hy])
    for row in report.rows:
        if row.check != "sound hole and braces":
            continue
        name = row.what.removeprefix("sound hole and ")
        c = np.array(layout.brace(name).corners_mm)
        t = np.linspace(0, 1, 4000)[:, None]
        sides = np.concatenate([a + t * (b - a) for a, b in zip(c, np.roll(c, -1, axis=0), strict=True)])
        least = min(np.hypot(*(sides - e).T).min() for e in edge[:: max(1, len(edge) // 500)])
        assert row.clearance_mm == pytest.approx(least, abs=0.05)


def test_refusals_say_where():
    stick = bw.Brace(bw.Blank(SPRUCE, length_mm=300, width_mm=8, height_mm=10), bw.Profile.straight(300, 10))
    common = {"outline": OUTLINE, "wood": SPRUCE, "thickness": 2.8}
    out = bw.PlacedBrace("A", stick, start_mm=(0, 300), end_mm=(290, 300))
    with pytest.raises(bw.InvalidInputError, match="end of A lies .* outside the outline") as e:
        bw.Layout("t", braces=[out], **common)
    assert (e.value.x_mm, e.value.y_mm) == (290, 300)
    a = bw.PlacedBrace("A", stick, start_mm=(-150, 350), end_mm=(150, 350))
    b = bw.PlacedBrace("B", stick, start_mm=(40, 200), end_mm=(40, 480))
    with pytest.raises(bw.InvalidInputError, match="without a lap") as e:
        bw.Layout("t", braces=[a, b], **common)
    assert (e.value.x_mm, e.value.y_mm) == pytest.approx((40, 350))
    lapped = bw.Layout("t", braces=[a, b], laps=[bw.LapAt(crest_cut="A", glue_cut="B")], **common)
    assert lapped.crossings[0].angle_deg == pytest.approx(90)
    with pytest.raises(bw.InvalidInputError, match="edge of the sound hole") as e:
        bw.Layout("t", hole=bw.SoundHole.round(x_mm=110, y_mm=151, diameter_mm=100), **common)
    assert e.value.x_mm > 110
    with pytest.raises(bw.InvalidInputError) as e:
        bw.Layout("t", lining_mm=-1, **common)
    assert e.value.x_mm is None


def test_files_and_thickness(tmp_path):
    layout = top(bw.x_pattern, PIN)
    file = tmp_path / "top.json"
    file.write_text(layout.to_json(), encoding="utf-8")
    assert bw.Layout.from_file(file) == layout and json.loads(layout.to_json())["schema"] == "bracewright/layout/1"
    pattern = bw.x_pattern(OUTLINE, hole=HOLE, bridge=layout.bridge)
    file.write_text(pattern.to_json(), encoding="utf-8")
    assert bw.Pattern.from_file(file) == pattern
    with pytest.raises(bw.ReadingsError, match="bracewright/layout"):
        bw.Layout.from_file(file)
    thick = bw.PlateThickness.measured([-100, 100, 0], [100, 100, 450], [2.6, 2.8, 3.0]).with_thin_edge(off_mm=0.3, over_mm=40)
    top_ = bw.Layout("t", outline=OUTLINE, wood=SPRUCE, thickness=thick)
    middle, edge = top_.thickness_mm([0, 199.9], [100, 373.7])
    assert middle == pytest.approx(2.7, abs=1e-6) and edge < 2.75
    assert layout.mass_g == pytest.approx(
        (OUTLINE.area_mm2 - math.pi * 50**2) * 2.8 * SPRUCE.density_kg_m3 * 1e-6
        + sum(b.brace.mass_g for b in layout.braces) + sum(p.mass_g for p in layout.parts), rel=1e-9,
    )  # fmt: skip
    assert layout.mirrored().mirrored() == layout


def test_command_draws_and_tells(tmp_path):
    layout = top(bw.fan_pattern, PIN)
    file = tmp_path / "top.json"
    file.write_text(layout.to_json(), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "bracewright", "layout", str(file), "--out", str(tmp_path / "out")], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert "CLASH" in done.stdout and "pin 3 and fan 4" in done.stdout and "Cautions" in done.stdout
    svg = ET.parse(tmp_path / "out" / "layout.svg").getroot()
    table = (tmp_path / "out" / "clearances.csv").read_text()
    assert svg.tag.endswith("svg") and table.count("\n") == len(layout.check().rows) + 1
    demo = Path(bw.__file__).parent / "demo" / "x_top.json"
    done = subprocess.run([sys.executable, "-m", "bracewright", "layout", str(demo), "--all"], capture_output=True, text=True)
    assert done.returncode == 0 and "CLASH" not in done.stdout and "pins and legs: pin 6 and bass leg" in done.stdout
    file.write_text("{}", encoding="utf-8")
    done = subprocess.run([sys.executable, "-m", "bracewright", "layout", str(file)], capture_output=True, text=True)
    assert done.returncode == 2 and "schema" in done.stderr


def test_plot_and_picture():
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    layout = top(bw.fan_pattern, PIN)
    report = layout.check()
    ax = layout.plot(report=report)
    assert ax.yaxis_inverted() and ax.get_title() == "a top" and ax.get_legend() is not None
    assert len(ax.patches) >= len(layout.braces)
    plt.close("all")
    ET.fromstring(layout.svg(report=report))
    with pytest.raises(bw.InvalidInputError, match="another layout"):
        bw.Layout("b", outline=OUTLINE, wood=SPRUCE, thickness=2.8).svg(report=report)
