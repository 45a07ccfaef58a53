"""The bench's own tables from the command line: the log of a job and the bars of a rig, with units in the headings."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from . import InvalidInputError, ReadingsError, parse_force_n, parse_length_mm, parse_mass_g

_LENGTH: tuple[str, str, Callable[..., float]] = ("mm", "in", parse_length_mm)
_MASS: tuple[str, str, Callable[..., float]] = ("g", "oz", parse_mass_g)
_FORCE: tuple[str, str, Callable[..., float]] = ("n", "lbf", parse_force_n)
_QUANTITIES = {
    "aimed": _LENGTH, "deflection": _LENGTH, "bar_height": _LENGTH, "shavings": _MASS, "brace": _MASS, "load": _FORCE,
}  # fmt: skip
_HEADING = re.compile(r"\s*(?P<words>.+?)(?:[\s_]*[\[(/][\s]*|[\s_]+)(?P<unit>[A-Za-z\"]+)\s*[\])]?\s*")
LOG_WORDS = ("step", "note", "date")
"""Columns of a log that are not numbers."""
LOG_NUMBERS = ("aimed", "shavings", "brace", "deflection")
STEPS = ("cap", "pass", "reading")


@dataclass(frozen=True)
class LogRow:
    """One line of a log."""

    line: int
    """Line of the file, from 1."""
    step: str
    """cap, pass or reading."""
    number: int
    """Pass of the plan it is about, the cap counted; of a reading the one it was read after, 0 as it stands."""
    aimed_mm: float | None = None
    shavings_g: float | None = None
    brace_g: float | None = None
    deflection_mm: float | None = None

    @property
    def what(self) -> str:
        """The row as a person says it."""
        if self.step == "reading":
            return f"a reading after pass {self.number}" if self.number else "a reading as it stands"
        return f"pass {self.number}, the cap" if self.step == "cap" else f"pass {self.number}"


def read_log(path: Path, *, cap_done: bool = False) -> list[LogRow]:
    """Every line of a log. `cap_done`: the plan has no cap to work, so that its first pass is a layer."""
    out: list[LogRow] = []
    done = 0
    for line, row in read_rows(path, ("step",), LOG_WORDS, LOG_NUMBERS):
        step = str(row["step"]).lower()
        if step not in STEPS:
            raise ReadingsError(f'{path}, line {line}: step is "{row["step"]}"; it must be one of: {", ".join(STEPS)}')
        if step == "cap" and cap_done:
            raise ReadingsError(f'{path}, line {line}: is about the cap, but the job file says "cap": "done"')
        done += step != "reading"
        numbers = {k: v for k, v in row.items() if isinstance(v, float)}
        out.append(LogRow(line, step, done, **numbers))
    return out


def read_rows(
    path: Path, needed: tuple[str, ...], words: tuple[str, ...], numbers: tuple[str, ...]
) -> list[tuple[int, dict[str, str | float]]]:
    """Rows under a heading of known columns: texts, and numbers in surface units, whatever unit the heading names.

    A heading carries its unit: `deflection_mm`, `deflection (in)`, `load_lbf`. Empty cells are left out.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as e:
        raise ReadingsError(f"{path}: cannot be opened ({e.strerror})") from e
    except UnicodeDecodeError as e:
        raise ReadingsError(f"{path}: is not text in UTF-8") from e
    lines = [(k, line) for k, line in enumerate(text.splitlines(), 1) if line.strip() and not line.startswith("#")]
    if len(lines) < 2:
        raise ReadingsError(f"{path}: holds no rows under a heading of {', '.join(needed)}")
    separator = ";" if ";" in lines[0][1] else ("\t" if "\t" in lines[0][1] else ",")
    place = f"{path}, line {lines[0][0]}"
    columns = [_column(place, h, words, numbers) for h in next(csv.reader([lines[0][1]], delimiter=separator))]
    names = [name for name, _, _ in columns]
    for name in needed:
        if name not in names:
            raise ReadingsError(f"{path}: has no column {name}; its columns are: {', '.join(w for _, w, _ in columns)}")
    if twice := next((n for k, n in enumerate(names) if n in names[:k]), None):
        raise ReadingsError(f"{path}: has two columns for {twice}; keep one")
    rows = []
    for k, line in lines[1:]:
        cells = [c.strip() for c in next(csv.reader([line], delimiter=separator))]
        if len(cells) != len(columns):
            raise ReadingsError(f"{path}, line {k}: has {len(cells)} cells under {len(columns)} headings")
        row: dict[str, str | float] = {}
        for cell, (name, written, unit) in zip(cells, columns, strict=True):
            if unit is None:
                row[name] = cell
            elif cell:
                row[name] = _number(f"{path}, line {k}", written, cell, unit)
        rows.append((k, row))
    return rows


def _column(
    place: str, heading: str, words: tuple[str, ...], numbers: tuple[str, ...]
) -> tuple[str, str, tuple[Callable[..., float], str] | None]:
    """Name in surface units, as written, and how a cell becomes a number; None for words."""
    written = heading.strip()
    name = written.lower()
    if name in words:
        return name, written, None
    found = _HEADING.fullmatch(written)
    quantity = "_".join(re.split(r"[\s_]+", (found["words"] if found else written).strip().lower()))
    if quantity.removesuffix("_in") in numbers and quantity.endswith("_in"):
        quantity = quantity.removesuffix("_in")  # "deflection in mm"
    if quantity in numbers and found:
        surface, _, parse = _QUANTITIES[quantity]
        try:
            parse(f"1 {found['unit']}")
        except InvalidInputError as e:
            raise ReadingsError(f'{place}: the heading "{written}" names a unit that is not known: {e}') from None
        return f"{quantity}_{surface}", written, (parse, found["unit"])
    bare = "_".join(re.split(r"[\s_]+", name))
    if bare in numbers:
        surface, other, _ = _QUANTITIES[bare]
        raise ReadingsError(f'{place}: the heading "{written}" names no unit; write {bare}_{surface} or {bare}_{other}')
    known = [*words, *(f"{n}_{_QUANTITIES[n][0]}" for n in numbers)]
    raise ReadingsError(
        f'{place}: the column "{written}" is not known; there are {", ".join(known)} (or with another unit, as {numbers[-1]}_in)'
    )


def _number(place: str, written: str, cell: str, unit: tuple[Callable[..., float], str]) -> float:
    parse, name = unit
    try:
        return parse(cell.replace(",", "."), default_unit=name)
    except InvalidInputError as e:
        raise ReadingsError(f'{place}: {written} is "{cell}"; it must be a number ({e})') from None
