"""The command line on the shipped demo and on files of one's own: numbers there, sentences for what is wrong."""

from __future__ import annotations

import csv
import json
import shutil
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
