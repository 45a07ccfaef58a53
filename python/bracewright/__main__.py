"""The bench from the command line: `python -m bracewright demo`, and the same steps on files of one's own."""

from __future__ import annotations

import argparse
import io
import os
import sys
from contextlib import redirect_stdout
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np

from . import Brace, BracewrightError, Expected, NextStep, Pass, Plan, readings_svg
from .job import Job, read_job
from .layout import show_layout
from .reference import JOB, LOG
from .stock import show_stock
from .tap import show_taps
from .weighings import show_rest

CAUTIONS = """\
Before the chisel
  Wood cannot be put back. Try a plan on scrap first, and read the dial after every pass.
  Clamp the work; keep both hands behind the edge; cut with a stop.
  Dust harms lungs, and some woods sensitise (redcedar, rosewoods, ebonies): mask (FFP2, N95) and extraction.
  Glue, solvents and finish: read the safety data sheet. Hearing and eyes at machines.
  Later, strings under tension whip when they break: eye protection, and slacken all of them before any work.
  Estimates from beam models and your own measurements: no promise of tone, no certificate of strength, no substitute
  for local codes or licensed practice. They may be wrong for cracked, run-out or repaired wood."""


def main(argv: list[str] | None = None) -> int:
    """Runs one command; returns 0, or 2 after a sentence about what was wrong with the input."""
    parser = argparse.ArgumentParser(prog="python -m bracewright", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    for name, about in {
        "demo": "one brace of an invented shop, from files to the next pass",
        "plan": "the passes of a job file, and what to expect after each",
        "fit": "the dimension that meets the window of a job file",
        "next": "the next pass of a job, from its log",
    }.items():
        more = {"demo": None, "next": f"{JOB}\n\n{LOG}"}.get(name, JOB)
        p = commands.add_parser(
            name, help=about, description=about, epilog=more, formatter_class=argparse.RawDescriptionHelpFormatter
        )
        if name != "demo":
            p.add_argument("job", type=Path, help='job file ("schema": "bracewright/job/1")')
        p.add_argument("--out", type=Path, default=Path("bracewright-demo") if name == "demo" else None,
                       help="folder for tables and pictures")  # fmt: skip
        if name == "fit":
            p.add_argument("--vary", help='dimension to solve for, as "scallop depth"; the job\'s own otherwise')
        if name == "next":
            p.add_argument("--log", type=Path, help="log of the passes so far; the job's own otherwise")
    about = "the decaying modes of recorded taps, and what a pass did to them"
    p = commands.add_parser("tap", help=about, description=about)
    p.add_argument("recordings", type=Path, nargs="*", metavar="recording.wav", help="recordings of one state, put together")
    p.add_argument("--before", type=Path, nargs="+", metavar="WAV", default=[], help="recordings before a pass")
    p.add_argument("--after", type=Path, nargs="+", metavar="WAV", default=[], help="recordings after it")
    p.add_argument("--low", default="40 Hz", help="lowest frequency looked at (40 Hz)")
    p.add_argument("--high", default="1000 Hz", help="highest frequency looked at (1000 Hz)")
    p.add_argument("--out", type=Path, help="folder for tables and pictures")
    about = "a table of blanks graded and paired, and what the lots say of the next stick"
    p = commands.add_parser("stock", help=about, description=about)
    p.add_argument("table", type=Path, help="table of blanks: name, sizes, mass, frequency of a tap (or modulus, density)")
    p.add_argument("--run-out", help="steepest slope of grain kept, such as 1/15")
    p.add_argument("--rings", help="largest angle of the rings from upright, degrees")
    p.add_argument("--lowest-density", help="lowest density kept, kg/m3")
    p.add_argument("--highest-density", help="highest density kept, kg/m3")
    p.add_argument("--lowest-modulus", help="lowest E kept, GPa")
    p.add_argument("--loss", help="largest loss factor kept")
    p.add_argument("--exponent", default="2.25", help="how stiffness goes with height: 3 alone, 2 to 2.5 glued (2.25)")
    p.add_argument("--pairs", type=int, help="how many pairs; as many as there are otherwise")
    p.add_argument("--need", type=int, help="good blanks needed next time, for how many to buy")
    p.add_argument("--wood", help="published wood all are of; the column species otherwise")
    p.add_argument("--bending", default="edge", choices=["edge", "flat"], help="the way they were tapped (edge)")
    p.add_argument("--out", type=Path, help="folder for a table and a picture")
    about = "the clearances of a braced top, with the chance that errors of place spoil them, and its drawing"
    p = commands.add_parser("layout", help=about, description=about)
    p.add_argument("file", type=Path, help='layout file ("schema": "bracewright/layout/1")')
    p.add_argument("--u-position", default="0.5 mm", help="standard uncertainty of every part's place, each way (0.5 mm)")
    p.add_argument("--u-angle", default="0.5", help="the same of its turn, degrees (0.5)")
    p.add_argument("--all", action="store_true", help="list what is clear too")
    p.add_argument("--out", type=Path, help="folder for the drawing and a table")
    about = "weighings over days: is the stock at rest with the shop, and when to expect it"
    p = commands.add_parser("rest", help=about, description=about)
    p.add_argument("table", type=Path, help="table of weighings: date or days, mass, and name where there are several pieces")
    p.add_argument("--scale", help="standard uncertainty of one weighing, g; one step of the scale otherwise")
    p.add_argument("--limit", default="0.1", help="rate that counts as rest, percent of the mass a day (0.1)")
    p.add_argument("--out", type=Path, help="folder for a table")
    args = parser.parse_args(argv)
    if args.command == "tap" and not (args.recordings or (args.before and args.after)):
        parser.error("tap: give recordings, or both --before and --after")
    if args.command == "tap" and bool(args.before) != bool(args.after):
        parser.error("tap: --before and --after go together")
    # said in one go when all is done and every file is written: whoever reads may stop reading, as `| head` does
    said = io.StringIO()
    wrong = ""
    try:
        with redirect_stdout(said):
            _run(args)
    except BracewrightError as e:
        wrong = str(e)
    except OSError as e:
        wrong = f"{e.filename}: {e.strerror}"
    try:
        sys.stdout.write(said.getvalue())
        sys.stdout.flush()
    except BrokenPipeError:
        # nothing is left to say, not even at the end of the interpreter
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if wrong:
        print(f"bracewright: {wrong}", file=sys.stderr)
    return 2 if wrong else 0


def _run(args: argparse.Namespace) -> None:
    if args.command == "tap":
        show_taps(args)
    elif args.command == "stock":
        show_stock(args)
    elif args.command == "layout":
        show_layout(args)
    elif args.command == "rest":
        show_rest(args)
    elif args.command == "demo":
        with as_file(files("bracewright") / "demo") as folder:
            _demo(read_job(Path(folder) / "left_leg.json"), args.out)
    else:
        {"plan": _plan, "fit": _fit, "next": _next}[args.command](read_job(args.job), args)


def _demo(job: Job, out: Path) -> None:
    print("An invented shop: a left X leg from a stick measured, weighed and bent. Its files ship with the package.\n")
    _stick(job)
    plan = _show_plan(job, out, job.brace)
    print()
    fit = job.fit()
    print(f"Fit to the window {job.goal.low:g} to {job.goal.high:g} mm\n  {fit.words}")
    print(f"  {fit.solves} solves of the depth-resolved beam; its discretisation error {fit.discretisation:.4f} mm; the section")
    print(f"  beam would say {fit.section_value:.3f} mm for the same brace.\n")
    _show_next(job, plan, out)
    print(f"\nTables and pictures are in {out}/\n\n{CAUTIONS}")


def _plan(job: Job, args: argparse.Namespace) -> None:
    _stick(job)
    _show_plan(job, args.out, job.brace)
    print(f"\n{CAUTIONS}")


def _fit(job: Job, args: argparse.Namespace) -> None:
    _stick(job)
    fit = job.fit(args.vary)
    print(f"Fit\n  {fit.words}\n")
    if fit.outcome != "reached":
        print(f"No passes are printed: the window is not reached.\n\n{CAUTIONS}")
        return
    _show_plan(job, args.out, fit.brace)
    print(f"\n{CAUTIONS}")


def _next(job: Job, args: argparse.Namespace) -> None:
    plan = job.plan()
    step = job.bench(plan, args.log).next_pass()
    _say_doubts(job)
    print("Next pass of the plan to the drawing, after what the log says was carved, weighed and read")
    _print_step(step, job, args.log)
    if args.out:
        _folder(args.out)
        _write_readings(job, plan, args.out, args.log)
        _write_next(step, args.out)
    print(f"\n{CAUTIONS}")


def _stick(job: Job) -> None:
    b = job.blank
    print(f"{job.name}: {b.wood.name}, {b.length_mm:g} x {b.width_mm:g} mm, {b.height_mm:.1f} mm high")
    weighed = f"from {b.mass_g:g} g" if b.mass_g else "the species', for want of a weighing"
    print(f"  density {b.density_kg_m3:.0f} kg/m3, {weighed}")
    if job.calibration is not None:
        print(f"  rig: {job.calibration.words}")
    else:
        print("  rig: not calibrated; the give of its supports is taken as none, and a few percent of E may be in it")
    if job.reading is not None:
        r = job.reading
        print(f"  the stick reads {r.deflection_mm:.3f} mm (u {r.u_mm:.3f}) on the {job.rig.name}")
        _say_doubts(job)
    print(f"  E {b.modulus_gpa:.2f} GPa, known to {100 * b.modulus_spread:.1f} %\n")


def _show_plan(job: Job, out: Path | None, brace: Brace) -> Plan:
    plan = job.plan(brace)
    print("Shape")
    limits = {"gouge_radius_mm": job.passes["gouge_radius_mm"], "smallest_safe_height_mm": job.passes["smallest_safe_height_mm"]}
    for words in brace.checks(**limits).words:
        print(f"  {words}")
    for note in plan.notes:
        print(f"  note: {note}")
    expected = plan.readings(job.rig)
    low, high = job.goal.low, job.goal.high
    print(f"\nPasses to the drawing ({plan.grams_off:.2f} g in all); the band is two standard uncertainties\n")
    rows = [("-", "as it stands", "-", "-", f"{plan.start.mass_g:.2f}", _reading(expected[0], low, high))]
    still, slight = [], []
    for k, (p, before, e) in enumerate(zip(plan.passes, expected, expected[1:], strict=False), 1):
        idle = e.deflection_mm - before.deflection_mm < _STILL_MM
        if idle and not (p.cut_mm is not None and p.deepest_mm < _SHAVING_MM):
            still.append(k)
        deepest = f"{p.deepest_mm:.2f}" if p.cut_mm is not None else "-"
        thin = p.cut_mm is not None and p.deepest_mm < _SHAVING_MM
        if thin:
            slight.append(k)
        reading = _reading(e, low, high) + (" *" if idle and not thin else "") + (" **" if thin else "")
        rows.append((str(k), _where(p), deepest, f"{p.grams_off:.2f}", f"{p.grams_left:.2f}", reading))
    wide = max(20, *(len(r[1]) for r in rows))
    print(f"  pass  {'where, mm':<{wide}}  deepest mm  grams off  grams left   reading mm        section beam mm   window")
    for no, where, deepest, off, left, reading in rows:
        print(f"  {no:>4}  {where:<{wide}}  {deepest:>10}  {off:>9}  {left:>10}   {reading}")
    if still:
        print("\n  * this pass works where the rig feels nothing, as beyond its supports: the dial hardly moves.\n"
              "    Take it when it suits: it brings the brace no nearer to the window.")  # fmt: skip
    if slight:
        print(f"\n  ** thinner than the {_SHAVING_MM} mm an edge tool can be trusted with: leave it.")
    x = brace.stations_mm(22)
    works = brace.working(x, window_mm=10)
    middle = np.flatnonzero((works.ratio > 0) & (np.abs(x / brace.length_mm - 0.5) <= 0.25))
    least = middle[np.argmin(works.ratio[middle])]
    print(f"\n  The section beam takes EI as drawn; at x = {x[least]:.0f} mm, the worst place of the middle half,"
          f" {100 * works.ratio[least]:.0f} % of it works.")  # fmt: skip
    if out is not None:
        _folder(out)
        for old in out.glob("pass_[0-9][0-9].csv"):
            old.unlink()
        for k, p in enumerate(plan.passes, 1):
            table = {"x_mm": p.x_mm, "before_mm": p.before_mm, "depth_mm": p.depth_mm, "after_mm": p.after_mm}
            _write_csv(out / f"pass_{k:02d}.csv", **table, ei_left=p.ei_left)
        _write_csv(out / "stiffness.csv", x_mm=x, drawn_n_m2=works.drawn_n_m2, working_n_m2=works.working_n_m2)
        fine = brace.working(brace.stations_mm(141), window_mm=10)
        pictures = {
            "profile": brace.svg(),
            "stiffness": fine.svg(),
            "passes": plan.svg(rig=job.rig),
            "sensitivity": brace.sensitivity(job.rig, places=28).svg(brace),
        }
        for name, svg in pictures.items():
            (out / f"{name}.svg").write_text(svg, encoding="utf-8")
        _write_readings(job, plan, out, None)
    return plan


_STILL_MM = 5e-4
"""A dial that moves by less does not move."""
_SHAVING_MM = 0.15
"""The bench's own thinnest shaving."""


def _where(p: Pass) -> str:
    if p.cut_mm is None:
        return f"the {'cap' if 'cap' in p.what else 'section'}, whole length"
    return p.places.removesuffix(" mm")


def _say_doubts(job: Job) -> None:
    for words in job.doubts:
        print(f"  look again: {words}")


def _write_readings(job: Job, plan: Plan, out: Path, log: Path | None) -> None:
    """The readings to expect, and those of the log that this plan's passes led to."""
    read = []
    for row in job.logged(log):
        if row.deflection_mm is not None and row.number <= len(plan.passes):
            read.append((row.number, row.deflection_mm, job.rig.reading(row.deflection_mm).u_mm))
    if job.reading is not None and not isinstance(job.start, Brace):
        read.insert(0, (0, job.reading.deflection_mm, job.reading.u_mm))
    (out / "readings.svg").write_text(readings_svg(plan.readings(job.rig), job.goal, read=read), encoding="utf-8")


def _show_next(job: Job, plan: Plan, out: Path) -> None:
    step = job.bench(plan).next_pass()
    print("Next pass of this plan, after what the log says was carved, weighed and read")
    _print_step(step, job, None)
    _write_next(step, out)


def _write_next(step: NextStep, out: Path) -> None:
    """The table to carve by; none at a stop, nor one left from before."""
    _folder(out)
    table = out / "next_pass.csv"
    table.unlink(missing_ok=True)
    if not step.stop:
        _write_csv(table, x_mm=step.x_mm, take_mm=step.take_mm, leave_mm=step.leave_mm)


def _print_step(step: NextStep, job: Job, log: Path | None) -> None:
    """What the log ends with, the words, and the places to carve; places where nothing comes off are left out."""
    rows = job.logged(log)
    path = log or job.log
    if path is not None and rows:
        read = [r for r in rows if r.deflection_mm is not None]
        if read:
            last = read[-1]
            print(f"  last reading: {last.deflection_mm:.3f} mm, {path.name} line {last.line} ({last.what});"
                  f" window {job.goal.low:g} to {job.goal.high:g} mm")  # fmt: skip
        if rows[-1].deflection_mm is None:
            print(f"  {path.name} line {rows[-1].line} ({rows[-1].what}) says no reading: read the dial, and ask again")
    print(f"  {step.words}")
    cut = np.flatnonzero(step.take_mm > 0.005)
    if step.stop or not len(cut):
        return
    for some in np.array_split(cut, -(-len(cut) // 12)):
        print("\n  x mm    " + "".join(f"{step.x_mm[k]:7.0f}" for k in some))
        print("  take mm " + "".join(f"{step.take_mm[k]:7.2f}" for k in some))
        print("  leave mm" + "".join(f"{step.leave_mm[k]:7.2f}" for k in some))
    if len(cut) < len(step.x_mm):
        print("\n  Elsewhere nothing comes off.")


def _reading(e: Expected, low: float, high: float) -> str:
    where = "before" if e.deflection_mm < low else "in" if e.deflection_mm <= high else "PAST"
    return f"{e.deflection_mm:6.3f} +- {2 * e.u_mm:5.3f}   {e.section_deflection_mm:9.3f}         {where}"


def _folder(out: Path) -> None:
    out.mkdir(parents=True, exist_ok=True)


def _write_csv(path: Path, **columns: np.ndarray) -> None:
    rows = zip(*columns.values(), strict=True)
    lines = [",".join(columns)] + [",".join(f"{v:.4f}" for v in row) for row in rows]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    raise SystemExit(main())
