"""The `layout` command: the clearances of a braced top and its drawing."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

from . import InvalidInputError, Layout

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from . import LayoutReport, LayoutRow


def show_layout(args: argparse.Namespace) -> None:
    """Prints the clearances that clash or are close (with --all a table of all); writes a drawing and a table to `args.out`."""
    layout = Layout.from_file(args.file)
    report = layout.check(u_position_mm=_measured(args.u_position), u_angle_deg=_measured(args.u_angle))
    print(f"{layout.name}: {len(layout.braces)} braces, {layout.mass_g:.0f} g with the top\n")
    print("\n".join(f"  {words}" for words in report.words))
    if args.all:
        print("\n  clearance, mm   allowed             chance      between")
        for r in report.rows:
            clearance = round(r.clearance_mm, 1) + 0.0  # no "-0.0"
            print(f"  {_mark(r)} {clearance:9.1f}   {_allowed(r):<18}  {_chance(r):<10}  {r.check}: {r.what}")
    if args.out is not None:
        args.out.mkdir(parents=True, exist_ok=True)
        (args.out / "layout.svg").write_text(layout.svg(report=report), encoding="utf-8")
        _write(args.out / "clearances.csv", report)
    print("\nCautions")
    print("\n".join(f"  {words}" for words in report.cautions))


def _mark(row: LayoutRow) -> str:
    return {"clash": "X", "close": "?", "clear": " "}[row.state]


def _allowed(row: LayoutRow) -> str:
    if row.most_mm is None:
        return f"at least {row.least_mm:g}"
    return f"{row.least_mm:g} to {row.most_mm:g}"


def _chance(row: LayoutRow) -> str:
    if row.chance is None:
        return "fitted"
    return "< 0.01 %" if row.chance < 1e-4 else f"{100 * row.chance:.2g} %"


def _measured(text: str) -> float | str:
    """A bare number in the surface unit, or a text with a unit."""
    try:
        return float(text.replace(",", "."))
    except ValueError:
        if not text.strip():
            raise InvalidInputError("an uncertainty is empty; it must be a number, with its unit or without") from None
        return text


def _write(path: Path, report: LayoutReport) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(["check", "between", "clearance_mm", "least_mm", "most_mm", "u_mm", "chance", "x_mm", "y_mm", "state"])
        for r in report.rows:
            figures = [r.clearance_mm, r.least_mm, r.most_mm, r.sd_mm, r.chance, r.x_mm, r.y_mm]
            out.writerow([r.check, r.what, *("" if v is None else f"{v:.4g}" for v in figures), r.state])
