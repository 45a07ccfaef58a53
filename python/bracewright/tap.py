"""The `tap` command: recordings of taps to a table of modes, and two states to a table of shifts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from . import (
    CombinedMode,
    Comparison,
    InvalidInputError,
    RecordingModes,
    Sound,
    combined,
    compared,
    many_recordings,
    parse_frequency_hz,
)

if TYPE_CHECKING:
    import argparse

_BAND = "+- two standard uncertainties"
CAUTIONS = """\
  What is heard depends on where the piece is held, struck and heard: the same for every recording that is compared.
  The uncertainties cover noise and repeats. They do not cover another grip, another place or drier air.
  An estimate of frequency and decay: no promise of tone."""


def show_taps(args: argparse.Namespace) -> None:
    """Prints the modes of the recordings, and the shifts from before to after; writes tables and pictures to `args.out`."""
    band = {"low_hz": _hz("--low", args.low), "high_hz": _hz("--high", args.high)}
    if args.recordings:
        _state("Modes", "tap", args.recordings, band, args.out)
    if args.before:
        before = _state("Before", "before", args.before, band, args.out)
        after = _state("After", "after", args.after, band, args.out)
        _shifts(compared(before, after), args.out)
    print(f"\n{CAUTIONS}")


def _hz(flag: str, text: str) -> float:
    try:
        return parse_frequency_hz(text, default_unit="Hz")
    except InvalidInputError as e:
        raise InvalidInputError(f"{flag}: {e}") from None


def _state(title: str, stem: str, paths: Sequence[Path], band: dict[str, Any], out: Path | None) -> list[CombinedMode]:
    found = many_recordings(paths, **band)
    rings = [t.found for f in found for t in f.taps if t.found is not None]
    print(f"{title}: {len(paths)} recording{'s' if len(paths) > 1 else ''}, {sum(len(f.taps) for f in found)} taps")
    for path, f in zip(paths, found, strict=True):
        for words in f.words:
            print(f"  {path.name}: {words}")
    together = combined(rings) if rings else None
    if together is None or not together.modes:
        print("  no mode was found; tap harder or nearer to the microphone")
    else:
        for words in together.words:
            print(f"  {words}")
        clipped = [path.name for path, f in zip(paths, found, strict=True) if f.checks.clipped_samples]
        heads = f"{'frequency Hz':>19}  {'decay 1/s':>17}  {'Q':>15}  {'60 dB s':>8}  {'taps':>4}"
        print(f"\n   no  {heads}   {_BAND}" + (", clipped: see below" if clipped else ""))
        for k, m in enumerate(together.modes, 1):
            print(f"  {k:3d}  {_reach(m.frequency_hz, m.u_frequency_hz):>19}  {_reach(m.decay_per_s, m.u_decay_per_s):>17}"
                  f"  {_reach(m.quality, m.u_quality):>15}  {m.decay_time_s:8.3f}  {len(m.taps):4d}")  # fmt: skip
        if clipped:
            print(f"\n  Clipped: {', '.join(clipped)}. Do not trust the list above: decay, Q, 60 dB and level are wrong, and weak"
                  " modes,\n  above all at sums and multiples of strong ones, may be made by the clipping. The strongest"
                  " frequencies lie about right.\n  Tap softer or turn the level down, and record again.")  # fmt: skip
    print()
    if out is not None:
        out.mkdir(parents=True, exist_ok=True)
        _write(out / f"{stem}.csv", _MODE_COLUMNS, together.modes if together else [])
        for k, (path, f) in enumerate(zip(paths, found, strict=True), 1):
            _picture(out / f"{stem}_{k:02d}.svg", path, f, band)
    return together.modes if together is not None else []


def _reach(value: float, u: float, sign: str = "") -> str:
    """A value and two standard uncertainties, with as many decimals as leave two figures of the uncertainty."""
    digits = 2 if u <= 0.0 else min(6, max(0, 1 - math.floor(math.log10(2.0 * u))))
    return f"{value:{sign}.{digits}f} +- {2.0 * u:.{digits}f}"


def _picture(target: Path, path: Path, found: RecordingModes, band: dict[str, Any]) -> None:
    if any(t.found is not None for t in found.taps):
        target.write_text(Sound.from_wav(path).svg(found=found, title=path.name, **band), encoding="utf-8")


def _shifts(change: Comparison, out: Path | None) -> None:
    print("What the pass did\n")
    if change.shifts:
        heads = f"{'before Hz':>9}  {'after Hz':>9}  {'shift Hz':>18}  {'shift %':>18}  {'loss factor':>21}"
        print(f"  {heads}   {_BAND}")
    for s in change.shifts:
        print(f"  {s.before.frequency_hz:9.2f}  {s.after.frequency_hz:9.2f}  {_reach(s.shift_hz, s.u_shift_hz, '+'):>18}"
              f"  {_reach(s.shift_percent, s.u_shift_percent, '+'):>18}"
              f"  {_reach(s.loss_factor_change, s.u_loss_factor_change, '+'):>21}")  # fmt: skip
    for which, modes in (("new", change.new), ("vanished", change.vanished)):
        for m in modes:
            print(f"  {which}: {_reach(m.frequency_hz, m.u_frequency_hz)} Hz")
    if out is not None:
        _write(out / "shifts.csv", _SHIFT_COLUMNS, change.shifts)


_MODE_COLUMNS = ("frequency_hz", "u_frequency_hz", "decay_per_s", "u_decay_per_s", "loss_factor", "u_loss_factor", "amplitude")
_SHIFT_COLUMNS = (
    "before.frequency_hz", "before.u_frequency_hz", "after.frequency_hz", "after.u_frequency_hz", "shift_hz", "u_shift_hz",
    "shift_percent", "u_shift_percent", "loss_factor_change", "u_loss_factor_change",
)  # fmt: skip


def _write(path: Path, columns: Sequence[str], rows: Sequence[Any]) -> None:
    lines = [",".join(c.replace(".", "_") for c in columns)]
    for row in rows:
        lines.append(",".join(f"{_of(row, c):.8g}" for c in columns))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _of(row: Any, name: str) -> float:
    for part in name.split("."):
        row = getattr(row, part)
    return float(row)
