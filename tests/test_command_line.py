"""The command line on the shipped demo and on files of one's own: numbers there, sentences for what is wrong."""

from __future__ import annotations

import csv
import json
import re
import shutil
import wave
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from bracewright.__main__ import main
from bracewright.job import _KNOWN, read_job
from bracewright.reference import JOB, LOG
from bracewright.tables import LOG_NUMBERS, LOG_WORDS, STEPS


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
    tables = sorted((shop / "out").glob("pass_*.csv"))
    assert [p.name for p in tables] == [f"pass_{k:02d}.csv" for k in range(1, len(plan.passes) + 1)]
    for path in tables:
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
    assert main(["next", str(shop / "left_leg.json"), "--out", str(shop / "out")]) == 0
    said = capsys.readouterr().out
    assert "Carve" in said or "Stop" in said or "stop" in said
    # the last reading, its line in the file, its pass in the plan (the cap is 1), and the window are echoed
    assert "last reading: 1.480 mm, log.csv line 8 (pass 6); window 1.62 to 1.74 mm" in said
    assert "Elsewhere nothing comes off" in said and "  0.00" not in said.split("x mm")[1].split("Before")[0]
    assert ">read<" in (shop / "out" / "readings.svg").read_text()


def test_passes_are_numbered_once(shop, capsys):
    assert main(["plan", str(shop / "left_leg.json"), "--out", str(shop / "out")]) == 0
    said = capsys.readouterr().out
    job = read_job(shop / "left_leg.json")
    plan = job.plan()
    rows = [found.groups() for found in map(re.compile(r"  +(\d+)  \S.*").fullmatch, said.splitlines()) if found]
    assert [int(r[0]) for r in rows] == list(range(1, len(plan.passes) + 1))
    layers = [(k, p) for k, p in enumerate(plan.passes, 1) if p.cut_mm]
    assert all(p.what == f"pass {k}" for k, p in layers)
    drawn = (shop / "out" / "passes.svg").read_text()
    for k, p in layers:
        assert f">{k}</text>" in drawn and p.places.removesuffix(" mm") in said
        # what is said to be cut is what the table cuts, to a shaving
        for x, depth in zip(p.x_mm, p.depth_mm, strict=True):
            assert (depth > 0.03) <= any(a - 0.6 <= x <= b + 0.6 for a, b in p.stretches_mm)
            assert depth > 0.005 or not any(a + 0.6 < x < b - 0.6 for a, b in p.stretches_mm)


def test_a_pass_beyond_the_supports_is_told(shop, capsys):
    """From a stick with square ends the last passes only work the ends, which hang over the supports: the dial stays (law)."""
    data = json.loads((shop / "left_leg.json").read_text())
    data["blank"] = {"length": "420 mm", "height": "17 mm", "width": "8.02 mm", "mass": "23.6 g"}
    (shop / "square.json").write_text(json.dumps(data))
    assert main(["plan", str(shop / "square.json")]) == 0
    said = capsys.readouterr().out
    job = read_job(shop / "square.json")
    plan = job.plan()
    supports = (0.5 * (420 - 380), 0.5 * (420 + 380))
    left, right = supports
    layers = [(k, p) for k, p in enumerate(plan.passes, 1) if p.cut_mm]
    idle = [k for k, p in layers if all(b < left or a > right for a, b in p.stretches_mm)]
    assert idle and "the dial hardly moves" in said
    for k in idle:
        assert next(line for line in said.splitlines() if line.strip().startswith(f"{k} ")).endswith(" *")


def test_a_log_in_inches_and_ounces(shop):
    """The same log in other units gives the same bench: 25.4 mm to the inch, 28.349523125 g to the ounce (exact)."""
    rows = list(csv.DictReader(line for line in (shop / "log.csv").open() if not line.startswith("#")))
    lines = ["step,aimed [in],shavings_oz,deflection in"]
    for r in rows:
        inch = [f"{float(r[k]) / 25.4:.9f}" if r[k] else "" for k in ("aimed_mm", "deflection_mm")]
        lines.append(f"{r['step']},{inch[0]},{float(r['shavings_g']) / 28.349523125:.9f},{inch[1]}")
    (shop / "inches.csv").write_text("\n".join(lines) + "\n")
    job = read_job(shop / "left_leg.json")
    plan = job.plan()
    a, b = job.bench(plan).next_pass(), job.bench(plan, shop / "inches.csv").next_pass()
    assert a.depth_mm == pytest.approx(b.depth_mm, abs=1e-6) and a.words == b.words


@pytest.mark.parametrize(
    ("log", "words"),
    [
        ("step,deflection\ncap,0.88\n", "names no unit"),
        ("step,weather,deflection_mm\ncap,dry,0.88\n", '"weather" is not known'),
        ("step,deflection_furlong\ncap,0.88\n", "not known"),
        ("step,deflection_mm\ncap,soft\n", "must be a number"),
        ("step,deflection_mm\nsand,0.88\n", "must be one of: cap, pass, reading"),
        ("step,deflection_mm\ncap\n", "1 cells under 2 headings"),
        ("step,deflection_mm,deflection_in\ncap,1,1\n", "two columns"),
        ("step,deflection_mm\ncap,0.88\ncap,0.88\n", "line 3 (pass 2, the cap)"),
        ("note\nfine\n", "has no column step"),
    ],
)
def test_a_bad_log_gets_a_sentence(shop, capsys, log, words):
    (shop / "bad.csv").write_text(log)
    assert main(["next", str(shop / "left_leg.json"), "--log", str(shop / "bad.csv")]) == 2
    err = capsys.readouterr().err
    assert words in err and len(err.strip().splitlines()) == 1, err


def test_an_odd_reading_is_named(shop, capsys):
    log = (shop / "log.csv").read_text().replace("0.34,1.48", "0.34,4.18")
    (shop / "odd.csv").write_text(log)
    assert main(["next", str(shop / "left_leg.json"), "--log", str(shop / "odd.csv")]) == 0
    said = capsys.readouterr().out
    for words in (
        "Do not carve", "4.180 mm", "odd.csv line 8 (pass 6)", "1.620 to 1.740 mm", "seat the brace again", "out of the log",
    ):  # fmt: skip
        assert words in said, words


def test_readings_that_disagree_are_named(shop, capsys):
    head = "seat,load_kg,deflection_mm\n"
    (shop / "readings.csv").write_text(head + "1,2,0.69\n1,2,0.69\n1,2,0.96\n2,2,0.70\n")
    assert main(["plan", str(shop / "left_leg.json")]) == 0
    assert "readings.csv, line 4: 0.96 mm of seat 1 stands off" in capsys.readouterr().out
    (shop / "readings.csv").write_text(head + "1,2,0.82\n2,2,8.2\n")
    assert main(["plan", str(shop / "left_leg.json")]) == 2
    err = capsys.readouterr().err
    assert "seat 1 0.82 mm, seat 2 8.2 mm" in err and "seat the brace again" in err
    (shop / "readings.csv").write_text(head + "1,2,0.69\n2,2,0.75\n")
    assert main(["plan", str(shop / "left_leg.json")]) == 0
    assert "the seats differ by 0.060 mm" in capsys.readouterr().out


def test_one_side_needs_the_cap_worked(shop, capsys):
    data = json.loads((shop / "left_leg.json").read_text())
    data["passes"]["side"] = "left"
    (shop / "side.json").write_text(json.dumps(data))
    assert main(["plan", str(shop / "side.json")]) == 2
    assert '"cap": "done"' in capsys.readouterr().err
    data["passes"]["cap"] = "done"
    (shop / "side.json").write_text(json.dumps(data))
    (shop / "log.csv").write_text("step,aimed_mm,shavings_g,deflection_mm\nreading,,,0.88\npass,1.0,0.70,0.98\n")
    assert main(["next", str(shop / "side.json")]) == 0
    assert "log.csv line 3 (pass 1)" in capsys.readouterr().out
    plan = read_job(shop / "side.json").plan()
    assert all(b <= 210.5 for p in plan.passes for _, b in p.stretches_mm)
    (shop / "log.csv").write_text("step,deflection_mm\ncap,0.88\n")
    assert main(["next", str(shop / "side.json")]) == 2
    assert '"cap": "done"' in capsys.readouterr().err


def test_stock_grades_the_rest(shop, capsys):
    """One not tapped, one with a slip of the decimal, one with width and height swapped: named, the others graded."""
    lines = (shop / "delivery.csv").read_text(encoding="utf-8").splitlines()
    cells = {k: lines[k + 1].split(";") for k in (5, 7, 9)}
    cells[5][7] = ""
    cells[7][7] = cells[7][7].replace("363,9", "36,39")
    cells[9][4], cells[9][5] = cells[9][5], cells[9][4]
    for k, c in cells.items():
        lines[k + 1] = ";".join(c)
    (shop / "some.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert main(["stock", str(shop / "some.csv"), "--run-out", "1/15", "--out", str(shop / "out")]) == 0
    said = capsys.readouterr().out
    assert "37 blanks" in said and said.count("set aside") >= 1, said
    for k, words in ((5, "neither a modulus nor a tapped frequency"), (7, "36.39 Hz"), (9, "width and height")):
        assert f"{k:02d}" in said and words in said, said
    drawn = (shop / "out" / "stock.svg").read_text()
    assert "Pairs, the stiffer first" in drawn and "one standard uncertainty" in drawn and "Goes back:" in drawn
    assert main(["stock", str(shop / "delivery.csv"), "--run-out", "15"]) == 2
    assert "1 in 15 is 1/15" in capsys.readouterr().err


def test_whoever_stops_reading_gets_no_complaint(tmp_path):
    import subprocess
    import sys

    run = subprocess.Popen([sys.executable, "-m", "bracewright", "demo", "--out", str(tmp_path / "out")],
                           stdout=subprocess.PIPE, stderr=subprocess.PIPE)  # fmt: skip
    assert run.stdout is not None and run.stderr is not None
    run.stdout.close()
    assert run.stderr.read() == b"" and run.wait() == 0
    assert (tmp_path / "out" / "next_pass.csv").exists()


def test_every_field_is_explained():
    """What the reader knows stands in the reference that --help prints, and the README has the same words."""
    known = {f for fields in _KNOWN.values() for f in fields}
    assert [f for f in sorted(known) if not re.search(rf"\b{f}\b", JOB)] == []
    for name in (*LOG_WORDS, *STEPS, *LOG_NUMBERS):
        assert name in LOG
    readme = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
    assert JOB in readme and LOG in readme


def test_help_explains(capsys):
    for command, words in (("plan", "gouge_radius"), ("next", "shavings_g"), ("fit", "scallop depth")):
        with pytest.raises(SystemExit):
            main([command, "--help"])
        assert words in capsys.readouterr().out


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"schema": "bracewright/job/9"}, "newer version"),
        ({"schema": "somewhere/else/1"}, "a job file says"),
        ({"schema": None}, 'has no "schema"'),
        ({"wood": "unobtainium"}, "Sitka spruce"),
        ({"goal": {"low": "2 mm", "high": "1 mm"}}, "must not be above"),
        ({"goal": {"low": "two", "high": "3 mm"}}, "low"),
        ({"goal": {"low": "15 mm", "high": "16 mm"}}, "check the decimal"),
        ({"passes": {"max_depth": "1 mm", "cap": "off"}}, "planned"),
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


def test_a_clipped_recording_is_said_beside_its_modes(tmp_path, capsys):
    path = tapped(tmp_path / "loud.wav", [(95.0, 25.0), (182.0, 30.0)], 1)
    with wave.open(path, "rb") as w:
        y = np.frombuffer(w.readframes(w.getnframes()), "<i2")
    with wave.open(path, "wb") as w:
        w.setnchannels(1)
        w.setsampwidth(2)
        w.setframerate(44_100)
        w.writeframes(np.clip(8 * y.astype(float), -32768, 32767).astype("<i2").tobytes())
    assert main(["tap", path]) == 0
    said = capsys.readouterr().out
    table, after = said.split("frequency Hz")[0], said.split("frequency Hz")[1]
    assert "clipped" in table and "clipped: see below" in after and "Clipped: loud.wav. Do not trust the list above" in after
