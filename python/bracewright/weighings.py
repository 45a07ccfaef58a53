"""The `rest` command: weighings over days, whether each piece is at rest with the shop, and when to expect it."""

from __future__ import annotations

import csv
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from . import InvalidInputError, RestReport, Weighings, parse_mass_g, read_weighings, rest

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

CAUTIONS = """\
  A steady mass says that the water is steady, not how much there is: read the air of the shop as well.
  When to expect rest holds while that air stays as it is. A glued joint brings water of its own (glue_water)."""


def show_rest(args: argparse.Namespace) -> None:
    """Prints for every piece whether it is at rest, not yet, or not to be told, and when; writes a table to `args.out`."""
    pieces = read_weighings(args.table)
    limit = _percent(args.limit)
    scale_g = None if args.scale is None else _grams(args.scale)
    count = f"{len(pieces)} pieces" if len(pieces) > 1 else "one piece"
    print(f"{args.table.name}: {count}; at rest is below {limit:g} % of the mass a day\n")
    rows: list[tuple[Weighings, RestReport]] = []
    for piece in pieces:
        name = piece.name or "the piece"
        if len(piece.days) < 2:
            print(f"  {name}: one weighing says nothing of a rate; weigh again after a day or more\n")
            continue
        u_g = scale_g if scale_g is not None else piece.step_g
        if u_g is None:
            message = f"{args.table.name}: the scale's step cannot be told from the masses of {name}; give --scale, in g"
            raise InvalidInputError(message)
        found = rest(piece.days, piece.mass_g, u_scale_g=u_g, limit_percent_per_day=limit)
        rows.append((piece, found))
        print(f"  {name}: {found.words[0]}")
        whence = "as given" if scale_g is not None else "one step of the scale"
        print(f"    {_span(piece)}; one weighing good to {u_g:g} g ({whence})")
        if found.answer == "not yet":
            soon, late = found.days_until_rest_90
            until = f"{_when(piece, found.days_until_rest)}, 90 %: {_when(piece, soon)} to {_when(piece, late)}"
            print(f"    to expect at rest {until}")
        if found.weigh_again_days is not None:
            print(f"    weigh again {_when(piece, found.weigh_again_days)}")
        if found.settled_mass_g is not None:
            print(f"    on its way to {found.settled_mass_g:.2f} g, from {piece.mass_g[-1]:g} g")
        for words in found.words[1:]:
            print(f"    {words}")
        print()
    print(CAUTIONS)
    if args.out is not None:
        args.out.mkdir(parents=True, exist_ok=True)
        _write(args.out / "rest.csv", rows)


def _percent(text: str) -> float:
    try:
        return float(text.replace(",", ".").removesuffix("%"))
    except ValueError:
        message = f"--limit is {text!r}; it must be a number, percent of the mass a day"
        raise InvalidInputError(message) from None


def _grams(text: str) -> float:
    try:
        return parse_mass_g(text, default_unit="g")
    except InvalidInputError as error:
        message = f"--scale: {error}"
        raise InvalidInputError(message) from None


def _date(piece: Weighings, days: float) -> str:
    """A date as far as the table's own dates go; days where it counts days."""
    if piece.from_date is None:
        return f"day {days:.1f}"
    at = datetime.fromisoformat(piece.from_date) + timedelta(days=min(float(days), 36_500.0))
    return at.strftime("%Y-%m-%d %H:%M" if "T" in piece.from_date else "%Y-%m-%d")


def _when(piece: Weighings, more_days: float) -> str:
    return _date(piece, piece.days[-1] + more_days)


def _span(piece: Weighings) -> str:
    return f"{len(piece.days)} weighings, {_date(piece, piece.days[0])} to {_date(piece, piece.days[-1])}"


def _write(path: Path, rows: list[tuple[Weighings, RestReport]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(["name", "answer", "chance_at_rest", "rate_percent_per_day", "rate_low", "rate_high", "last_weighing",
                      "at_rest_to_expect", "mass_g", "settled_mass_g"])  # fmt: skip
        for piece, r in rows:
            low, high = r.rate_90_percent_per_day
            settled = "" if r.settled_mass_g is None else f"{r.settled_mass_g:.3f}"
            out.writerow([piece.name, r.answer, f"{r.chance_at_rest:.3f}",
                          f"{r.rate_percent_per_day:.4f}", f"{low:.4f}", f"{high:.4f}",
                          _when(piece, 0.0), _when(piece, r.days_until_rest), f"{piece.mass_g[-1]:g}", settled])  # fmt: skip
