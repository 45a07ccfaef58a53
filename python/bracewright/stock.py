"""The `stock` command: a table of blanks graded and paired, with the lot's middle and spread."""

from __future__ import annotations

import csv
from fractions import Fraction
from typing import TYPE_CHECKING

from . import (
    Graded,
    InvalidInputError,
    StockBlank,
    Wood,
    best_pairs,
    blanks_to_buy,
    grade,
    read_delivery,
    stock_priors,
    stock_svg,
)

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

CAUTIONS = """\
  Limits are yours: none is built in. What was not read of a blank does not put it back.
  A modulus from a tap is dynamic, some percent above the dial's. Look for cracks and compression failures by eye.
  An estimate of stiffness and mass: no promise of tone."""


def show_stock(args: argparse.Namespace) -> None:
    """Prints what is put back and why, the pairs and the priors of a delivery; writes tables and a picture to `args.out`."""
    delivery = read_delivery(args.table, wood=Wood.published(args.wood) if args.wood else None, bending=args.bending)
    blanks = delivery.blanks
    limits = {
        "lowest_density_kg_m3": _measured(args.lowest_density),
        "highest_density_kg_m3": _measured(args.highest_density),
        "lowest_modulus_gpa": _measured(args.lowest_modulus),
    }
    run_out = _number("--run-out", args.run_out)
    if run_out is not None and not 0.0 <= run_out <= 0.5:
        turned = f"; 1 in {args.run_out} is 1/{args.run_out}" if run_out > 1.0 else ""
        raise InvalidInputError(f"--run-out is {args.run_out}; it must be a slope, rise over length, from 0 to 1/2{turned}")
    graded = grade(
        blanks, run_out=run_out, ring_angle_deg=_measured(args.rings),
        loss_factor=_number("--loss", args.loss), **limits,
    )  # fmt: skip
    back = [g for g in graded if g.reasons]
    for words in delivery.words:
        print(f"  {words}")
    print(f"{args.table.name}: {len(blanks)} blanks, {len(blanks) - len(back)} kept, {len(back)} go back")
    for g in back:
        print(f"  {g.name}: {'; '.join(g.reasons)}")
    kept = [b for b, g in zip(blanks, graded, strict=True) if not g.reasons]
    pairing = None
    if len(kept) >= 2:
        exponent = _number("--exponent", args.exponent) or 0.0
        pairing = best_pairs(kept, exponent=exponent, pairs=args.pairs)
        print(f"\nPairs of legs (stiffness goes with height to the {exponent:g}); the softer one stands higher")
        print("  stiffer   softer    E apart %            height of the softer, % more   +- two standard uncertainties")
        for p in pairing.pairs:
            print(f"  {p.stiffer:<8}  {p.softer:<8}  {p.mismatch_percent:5.2f} +- {2 * p.u_percent:4.2f}"
                  f"        {100 * (p.height_ratio - 1):5.2f} +- {200 * p.u_height_ratio:4.2f}")  # fmt: skip
        if pairing.left_over:
            print(f"  without a partner: {', '.join(pairing.left_over)}")
    print("\nWhat the lots say of the next stick")
    for lot in stock_priors(blanks):
        for words in lot.words:
            print(f"  {lot.of}: {words}")
    if args.need is not None:
        chance = min(len(back) / len(blanks), 0.95)
        count = blanks_to_buy(args.need, reject_chance=chance)
        print(f"\nTo have {args.need} good ones with 95 chances in 100, buy {count}: {100 * chance:.0f} % of these went back.")
    print(f"\n{CAUTIONS}")
    if args.out is not None:
        args.out.mkdir(parents=True, exist_ok=True)
        _write(args.out / "graded.csv", blanks, graded)
        (args.out / "stock.svg").write_text(stock_svg(blanks, graded, pairing=pairing, **limits), encoding="utf-8")


def _number(name: str, text: str | None) -> float | None:
    """A number, or a fraction such as 1/15."""
    if text is None:
        return None
    try:
        return float(Fraction(text.replace(",", ".")))
    except (ValueError, ZeroDivisionError) as error:
        message = f"{name} is {text!r}; it must be a number, or a fraction such as 1/15"
        raise InvalidInputError(message) from error


def _measured(text: str | None) -> float | str | None:
    """A bare number in the surface unit, or a text with a unit."""
    try:
        return text if text is None else float(text.replace(",", "."))
    except ValueError:
        return text


def _write(path: Path, blanks: list[StockBlank], graded: list[Graded]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(["name", "lot", "modulus_gpa", "u_modulus_gpa", "density_kg_m3", "specific_modulus", "put_back_for"])
        for b, g in zip(blanks, graded, strict=True):
            out.writerow([b.name, b.lot, f"{b.modulus_gpa:.3f}", f"{b.u_gpa:.3f}", f"{b.density_kg_m3:.1f}",
                          f"{g.specific_modulus:.2f}", "; ".join(g.reasons)])  # fmt: skip
