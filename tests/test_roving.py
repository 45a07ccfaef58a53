"""Roving taps and universal files, from Python; pyuff, where it is installed, reads what is written here and the other way."""

import bracewright as bw
import numpy as np
import pytest

PLACES = np.linspace(0, 420, 9)
HZ = np.arange(10, 600, 0.5)
MODES = ((92.0, 0.012, 1), (253.0, 0.014, 2), (497.0, 0.013, 3))


def shape(k, x):
    return np.cos((k + 1) * np.pi * x / 420)


def accelerance(x, fixed=0.0):
    w = 2 * np.pi * HZ
    return sum(-(w**2) * shape(k, x) * shape(k, fixed) / 0.006 / (w0**2 - w**2 + 1j * eta * w0 * w)
               for f, eta, k in MODES for w0 in [2 * np.pi * f])  # fmt: skip


@pytest.fixture(scope="module")
def grid():
    return bw.FrfSet(PLACES, HZ, [accelerance(x) for x in PLACES], calibrated=True, driving=0)


def test_modes_of_a_grid(grid):
    found = bw.roving_frfs(grid, low_hz=50, high_hz=590)
    assert [m.frequency_hz for m in found.modes] == pytest.approx([f for f, _, _ in MODES], rel=2e-4)
    for m, (_, eta, k) in zip(found.modes, MODES, strict=True):
        assert m.loss_factor == pytest.approx(eta, rel=2e-3) and m.modal_mass_g == pytest.approx(6.0, rel=5e-3)
        assert bw.mac(m.shape, shape(k, PLACES)) > 0.9999
    assert np.allclose(np.diag(found.mac_with(found)), 1)
    assert "modal mass" in found.svg(title="Invented stick")
    assert list(found.to_pandas()["collinearity"]) == [m.collinearity for m in found.modes]


def test_recordings_of_a_roving_tap_say_what_they_cannot(grid):
    t = np.arange(4800) / 4000
    samples = [sum(shape(k, x) * np.exp(-np.pi * eta * f * t) * np.sin(2 * np.pi * f * t) for f, eta, k in MODES) for x in PLACES]
    found = bw.roving_decays(PLACES, 4000, samples, low_hz=50, high_hz=590)
    assert len(found.modes) == 3 and "how hard each tap was is mixed" in found.words[0]
    assert all(m.modal_mass_g is None for m in found.modes)
    twice = bw.roving_decays([(x, 0) for x in PLACES], 4000, [[s, 1.1 * s] for s in samples], low_hz=50, high_hz=590)
    assert bw.mac(twice.modes[1].shape, shape(2, PLACES)) > 0.999


def test_shapes_drawn_with_matplotlib(grid):
    matplotlib = pytest.importorskip("matplotlib", reason="plots need matplotlib")
    matplotlib.use("Agg")
    found = bw.roving_frfs(grid, low_hz=50, high_hz=590)
    axes = found.plot()
    assert len(axes) == 3 and axes[2].get_xlabel() == "place along the line of taps, mm"
    for ax, mode in zip(axes, found.modes, strict=True):
        x, y = ax.lines[1].get_data()
        np.testing.assert_allclose(x, PLACES)
        np.testing.assert_allclose(y, mode.shape)
        assert f"{mode.frequency_hz:.2f} Hz" in ax.get_title(loc="left") and "modal mass" in ax.get_title(loc="left")
    # a plate of 6 by 4 points, twisting: corners move most, opposite ones alike, the four about the middle least
    points = [(x, y) for x in np.linspace(0, 400, 6) for y in np.linspace(0, 300, 4)]
    w, w0 = 2 * np.pi * HZ, 2 * np.pi * 120.0
    twist = [(x / 200 - 1) * (y / 150 - 1) for x, y in points]
    plate = bw.FrfSet(points, HZ, [-(w**2) * t / (w0**2 - w**2 + 0.015j * w0 * w) for t in twist])
    (ax,) = bw.roving_frfs(plate, low_hz=60, high_hz=400).plot()
    discs = {tuple(np.round(p.center, 6)): p for p in ax.patches}
    assert len(discs) == 24 and ax.get_aspect() == 1.0
    dark = {at for at, p in discs.items() if p.get_facecolor()[:3] == (0.0, 0.0, 0.0)}
    corners = {(0, 0), (400, 300)} if (0, 0) in dark else {(400, 0), (0, 300)}
    assert corners <= dark and not ({(0, 0), (400, 300), (400, 0), (0, 300)} - corners) & dark
    assert discs[(160, 100)].radius == pytest.approx(discs[(0, 0)].radius / 15, rel=0.02)  # a fifth of a third of the corner's
    assert all(p.radius < 40 for p in discs.values())  # points are 80 mm apart: no disc covers another
    with pytest.raises(bw.InvalidInputError, match="one for each of the 3 modes"):
        found.plot(axes[:2])
    matplotlib.pyplot.close("all")


def responses():
    return [
        bw.UniversalFunction(
            "frequency response", abscissa=HZ, re=accelerance(x).real, im=accelerance(x).imag, title="invented", response_node=1,
            reference_node=i + 1, ordinate="acceleration", denominator="force",
        )
        for i, x in enumerate(PLACES)
    ]  # fmt: skip


@pytest.mark.parametrize("binary", [False, True])
def test_a_grid_through_a_file(tmp_path, binary):
    made = bw.Universal(responses(), nodes=[bw.UniversalNode(i + 1, x_mm=x) for i, x in enumerate(PLACES)])
    path = tmp_path / "stick.uff"
    path.write_bytes(made.to_bytes(binary=binary))
    read = bw.read_universal(path)
    grid = read.frf_set()
    assert grid.calibrated and grid.driving == 0 and grid.response == "accelerance"
    np.testing.assert_allclose(np.array(grid.points_mm)[:, 0], PLACES, rtol=1e-5)
    assert len(bw.roving_frfs(grid, low_hz=50, high_hz=590).modes) == 3


def test_a_damaged_file_is_said_with_its_line(tmp_path):
    path = tmp_path / "cut.uff"
    path.write_bytes(b"".join(bw.Universal(responses()).to_bytes().splitlines(keepends=True)[:70]))
    with pytest.raises(bw.ReadingsError, match=r"cut\.uff, line \d+: the file ends inside the data"):
        bw.read_universal(path)
    with pytest.raises(FileNotFoundError):
        bw.read_universal(tmp_path / "none.uff")


@pytest.mark.parametrize("binary", [0, 1])
@pytest.mark.parametrize("even", [0, 1])
def test_pyuff_writes_and_this_reads(tmp_path, binary, even):
    pyuff = pytest.importorskip("pyuff", reason="pyuff is the other reader and writer of universal files")
    path = str(tmp_path / "theirs.uff")
    x = HZ if even else HZ + 0.05 * np.arange(len(HZ)) ** 1.5
    for i, place in enumerate(PLACES[:3]):
        pyuff.UFF(path).write_sets(
            {
                "type": 58, "binary": binary, "func_type": 4, "rsp_node": 1, "rsp_dir": 3, "ref_node": i + 1, "ref_dir": -3,
                "data": accelerance(place), "x": x, "id1": "invented", "id2": "", "id3": "", "id4": "", "id5": "", "ver_num": 0,
                "load_case_id": 0, "rsp_ent_name": "NONE", "ref_ent_name": "NONE", "abscissa_spacing": even,
                "abscissa_spec_data_type": 18, "ordinate_spec_data_type": 12, "orddenom_spec_data_type": 13,
                "abscissa_min": x[0], "abscissa_inc": x[1] - x[0],
            },
            "add",
        )  # fmt: skip
    read = bw.read_universal(path)
    assert len(read.functions) == 3
    for i, (f, place) in enumerate(zip(read.functions, PLACES, strict=False)):
        assert (f.kind, f.response_node, f.reference_node, f.reference_direction) == ("frequency response", 1, i + 1, -3)
        assert (f.abscissa_kind, f.ordinate_kind, f.denominator_kind) == (18, 12, 13)
        np.testing.assert_allclose(f.re + 1j * f.im, accelerance(place), rtol=1e-9, atol=1e-9 * abs(accelerance(place)).max())
        np.testing.assert_allclose(f.abscissa, x, rtol=1e-5)


@pytest.mark.parametrize("binary", [False, True])
@pytest.mark.parametrize("even", [True, False])
def test_this_writes_and_pyuff_reads(tmp_path, binary, even):
    pyuff = pytest.importorskip("pyuff", reason="pyuff is the other reader and writer of universal files")
    path = tmp_path / "ours.uff"
    x = HZ if even else HZ + 0.05 * np.arange(len(HZ)) ** 1.5
    value = accelerance(60.0)
    both = [
        bw.UniversalFunction("frequency response", abscissa=x, re=value.real, im=value.imag, response_node=4, reference_node=9),
        bw.UniversalFunction("time response", abscissa=x, re=value.real, response_node=4, response_direction=-1),
    ]
    path.write_bytes(bw.Universal(both, nodes=[bw.UniversalNode(4, x_mm=60)]).to_bytes(binary=binary))
    sets = [s for s in pyuff.UFF(str(path)).read_sets() if s["type"] == 58]
    assert [s["func_type"] for s in sets] == [4, 1] and sets[0]["ref_node"] == 9 and sets[1]["rsp_dir"] == -1
    np.testing.assert_allclose(sets[0]["data"], value, rtol=1e-9, atol=1e-9 * abs(value).max())
    np.testing.assert_allclose(sets[1]["data"], value.real, rtol=1e-9, atol=1e-9 * abs(value).max())
    for s in sets:
        np.testing.assert_allclose(s["x"], x, rtol=1e-5)
