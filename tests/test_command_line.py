"""The command line on the shipped demo and on files of one's own: numbers there, sentences for what is wrong."""

from __future__ import annotations

import csv
import json
import shutil
import wave
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from bracewright.__main__ import main
from bracewright.job import read_job


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A copy of the demo's files."""
    for f in Path(str(files("bracewright") / "demo")).iterdir():
        shutil.copy(f, tmp_path / f.name)
    return tmp_path


def test_demo_writes_tables_pictures_and_cautions(tmp_path, capsys):
    assert main(["demo", "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    for words in ("Passes to the drawing", "Fit to the window", "Next pass", "cannot be put back", "Clamp", "Dust", "strings"):
        assert words in said
    names = {p.name for p in (tmp_path / "out").iterdir()}
    assert {"profile.svg", "stiffness.svg", "passes.svg", "readings.svg", "sensitivity.svg", "next_pass.csv"} <= names


def test_tables_add_up(shop):
    job = read_job(shop / "left_leg.json")
    plan = job.plan()
    assert main(["plan", str(shop / "left_leg.json"), "--out", str(shop / "out")]) == 0
    # passes are cuts: grams add up to the difference of the masses, heights fall step by step (law)
    assert sum(p.grams_off for p in plan.passes) == pytest.approx(plan.start.mass_g - plan.end.mass_g, abs=1e-9)
    before = None
    for path in sorted((shop / "out").glob("step_*.csv")):
        with path.open() as f:
            rows = list(csv.DictReader(f))
        left = np.array([float(r["after_mm"]) for r in rows])
        taken = np.array([float(r["depth_mm"]) for r in rows])
        # tables carry four decimals
        assert np.allclose(np.array([float(r["before_mm"]) for r in rows]) - taken, left, atol=2e-4)
        if before is not None:
            assert (left <= before + 1e-4).all()
        before = left


def test_fit_lands_in_the_window(shop, capsys):
    job = read_job(shop / "left_leg.json")
    fit = job.fit()
    assert fit.outcome == "reached"
    assert job.goal.low <= job.rig.expected(fit.brace).deflection_mm <= job.goal.high
    assert fit.solves <= 6
    assert main(["fit", str(shop / "left_leg.json")]) == 0
    assert "scallop depth" in capsys.readouterr().out


def test_a_log_that_follows_the_plan_is_believed(shop, tmp_path):
    """Readings and grams as the plan table prints them, shavings a little light: no row is called odd, none is refused."""
    job = read_job(shop / "left_leg.json")
    plan = job.plan()
    lines = ["step,aimed_mm,shavings_g,deflection_mm,note"]
    for p, e in zip(plan.passes, plan.readings(job.rig)[1:], strict=True):
        step, aim = ("cap", "") if "cap" in p.what else ("pass", f"{p.deepest_mm:.2f}")
        lines.append(f"{step},{aim},{0.97 * p.grams_off:.2f},{e.deflection_mm:.2f},as planned")
        log = tmp_path / "log.csv"
        log.write_text("\n".join(lines) + "\n")
        said = job.bench(plan, log).next_pass().words
        assert "Do not carve" not in said, said
        if e.deflection_mm > 0.97 * job.goal.low:
            break
    assert said.startswith(("Carve", "Stop: it is in the window")), said


def test_next_pass_from_a_log(shop, capsys):
    assert main(["next", str(shop / "left_leg.json")]) == 0
    said = capsys.readouterr().out
    assert "Carve" in said or "Stop" in said or "stop" in said


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"schema": "bracewright/job/9"}, "newer version"),
        ({"schema": "somewhere/else/1"}, "a job file says"),
        ({"schema": None}, 'has no "schema"'),
        ({"wood": "unobtainium"}, "Sitka spruce"),
        ({"goal": {"low": "2 mm", "high": "1 mm"}}, "must not be above"),
        ({"goal": {"low": "two", "high": "3 mm"}}, "low"),
        ({"rig": {"span": "900 mm", "load": "2 kg"}}, "off the brace"),
        ({"rig": {"span": "380 mm", "load": "-2 kg"}}, "load_n"),
        ({"passes": {"max_depth": "0 mm"}}, "max_depth_mm"),
        ({"shape": {"height": "19 mm"}}, "above the blank"),
        ({"blank": {"stations": "nowhere.csv", "width": "8 mm"}}, "nowhere.csv"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_a_bad_job_gets_a_sentence(shop, capsys, change, words):
    data = json.loads((shop / "left_leg.json").read_text())
    data.update(change)
    if change.get("schema", 1) is None:
        del data["schema"]
    (shop / "bad.json").write_text(json.dumps(data))
    assert main(["plan", str(shop / "bad.json")]) == 2
    err = capsys.readouterr().err
    assert words in err, err
    assert "Traceback" not in err and len(err.strip().splitlines()) == 1


def test_files_that_are_no_jobs(tmp_path, capsys):
    (tmp_path / "x.json").write_text("{ not json")
    assert main(["plan", str(tmp_path / "x.json")]) == 2
    assert main(["plan", str(tmp_path / "missing.json")]) == 2
    (tmp_path / "y.json").write_text("[1, 2]")
    assert main(["next", str(tmp_path / "y.json")]) == 2
    assert capsys.readouterr().err.count("bracewright:") == 3


def tapped(path, modes, seed):
    """A 16-bit WAV of two taps, written by the standard library."""
    t = np.arange(44_100 * 2) / 44_100
    y = np.random.default_rng(seed).normal(0, 5e-4, t.size)
    for start in (0.1, 1.0):
        since = np.maximum(t - start, 0)
        y += sum(0.2 * np.exp(-np.pi * f * since / q) * np.sin(2 * np.pi * f * since) for f, q in modes)
    with wave.open(str(path), "wb") as w:
        w.setnchannels(1)
        w.setsampwidth(2)
        w.setframerate(44_100)
        w.writeframes(np.round(32767 * y).astype("<i2").tobytes())
    return str(path)


def test_tap_prints_modes_and_shifts(tmp_path, capsys):
    modes = [(95.0, 25.0), (182.0, 30.0), (343.0, 45.0)]
    before = [tapped(tmp_path / f"before{k}.wav", modes, k) for k in range(2)]
    after = [tapped(tmp_path / "after.wav", [(0.98 * f, q) for f, q in modes[:2]], 5)]
    out = tmp_path / "out"
    assert main(["tap", before[0], "--before", *before, "--after", *after, "--out", str(out)]) == 0
    said = capsys.readouterr().out
    for words in ("Modes: 1 recording, 2 taps", "Before: 2 recordings, 4 taps", "vanished: 343.0", "no promise of tone", "grip"):
        assert words in said
    assert {p.name for p in out.iterdir()} == {
        "tap.csv", "tap_01.svg", "before.csv", "before_01.svg", "before_02.svg", "after.csv", "after_01.svg", "shifts.csv",
    }  # fmt: skip
    with (out / "shifts.csv").open() as f:
        rows = list(csv.DictReader(f))
    # the shift that was put in, two percent down
    for row, (f, _) in zip(rows, modes[:2], strict=True):
        assert abs(float(row["shift_hz"]) + 0.02 * f) < 5 * float(row["u_shift_hz"])
        assert float(row["shift_percent"]) == pytest.approx(-2.0, abs=5 * float(row["u_shift_percent"]))
    with (out / "tap.csv").open() as f:
        table = list(csv.DictReader(f))
    assert [float(r["frequency_hz"]) for r in table] == pytest.approx([f for f, _ in modes], abs=0.05)
    assert main(["tap", before[0], "--high", "250 Hz"]) == 0
    assert "343" not in capsys.readouterr().out


def test_tap_of_what_is_no_recording(tmp_path, capsys):
    good = tapped(tmp_path / "good.wav", [(95.0, 25.0)], 1)
    (tmp_path / "notes.wav").write_text("no sound")
    for bad, words in (
        ([str(tmp_path / "notes.wav")], "not a WAV"),
        ([str(tmp_path / "none.wav")], "none.wav"),
        ([good, "--low", "five"], "--low"),
        ([good, "--high", "90 kHz"], "high_hz"),
    ):
        assert main(["tap", *bad]) == 2
        err = capsys.readouterr().err
        assert words in err and len(err.strip().splitlines()) == 1, err
    for bad in ([], ["--before", good], ["--after", good]):
        with pytest.raises(SystemExit):
            main(["tap", *bad])
        assert "tap: " in capsys.readouterr().err


def test_a_recording_without_a_tap_says_so(tmp_path, capsys):
    hiss = tapped(tmp_path / "hiss.wav", [], 3)
    assert main(["tap", hiss, "--before", hiss, "--after", hiss, "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "no tap stands out" in said and "no mode was found" in said
    assert (tmp_path / "out" / "tap.csv").read_text().count("\n") == 1
