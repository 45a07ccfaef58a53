"""Pictures of a brace on its strip of top, with matplotlib, as in ``plots``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .plots import _LEFT_END, _WOOD, _axes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

__all__ = ["plot_margins"]

# margins beyond this many times the least are drawn there: the wood is not at work
_MOST = 10.0


def _two(axes: Sequence[Axes] | None) -> tuple[Axes, Axes]:
    if axes is not None:
        above, below = axes
        return above, below
    first = _axes(None, 8.0, 6.4)
    figure = first.figure
    first.remove()
    above, below = figure.subplots(2, 1, sharex=True, height_ratios=[3, 2])
    return above, below


def plot_margins(margins: Any, axes: Sequence[Axes] | None = None) -> tuple[Axes, Axes]:
    """The brace from the side with the height its crest may go down to, and below it the margins in bending and of the glue."""
    above, below = _two(axes)
    x, h, low = (np.asarray(v, dtype=float) for v in (margins.x_mm, margins.height_mm, margins.lowest_mm))
    solved = margins.lasting_mpa / np.maximum(np.asarray(margins.resolved_mpa, dtype=float), 1e-9)
    bad = np.minimum(np.asarray(margins.bending_margin, dtype=float), solved) < margins.least_margin
    low = np.where(bad, h, low)
    above.fill_between(x, np.minimum(low, h), color=_WOOD, alpha=0.45, linewidth=0)
    above.fill_between(
        x, np.minimum(low, h), h, facecolor="none", edgecolor=_WOOD, hatch="///", linewidth=0, label="may still go"
    )
    above.plot(x, h, color="black", linewidth=1.8, label="crest")
    above.plot(x, np.minimum(low, h), color="black", linestyle="--", linewidth=1.2, label=f"margin {margins.least_margin:g}")
    if np.any(bad):
        above.plot(x[bad], h[bad], linestyle="none", marker="x", color="black", markersize=7, label="too low: take no more")
    above.set(ylabel="height, mm", title="Where wood may still go, one place at a time")
    above.set_ylim(0.0, 1.32 * float(np.max(h)))
    above.legend(frameon=False, fontsize=9, ncols=4, loc="upper center")
    top = _MOST * margins.least_margin
    for values, style, name in (
        (margins.bending_margin, "-", "bending"),
        (solved, "--", "bending, as solved"),
        (margins.glue_margin, "-.", "glue line"),
    ):
        below.plot(x, np.minimum(np.asarray(values, dtype=float), top), color="black", linestyle=style, linewidth=1.6, label=name)
    below.axhline(margins.least_margin, color="black", linestyle=":", linewidth=1.2)
    least, at = margins.least
    below.annotate(
        f"{least:.1f} at {at:.0f} mm",
        (at, min(least, top)),
        xytext=(8, 14),
        textcoords="offset points",
        fontsize=10,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
    )
    below.plot([at], [min(least, top)], marker="o", color="black")
    below.set_yscale("log")
    ticks = [t for t in (1, 2, 3, 5, 10, 20, 50) if t <= top]
    below.set_yticks(ticks, [str(t) for t in ticks])
    below.minorticks_off()
    below.set_ylim(min(0.6, 0.6 * least), 1.15 * top)
    below.set(xlabel=_LEFT_END, ylabel="lasting strength over stress")
    below.set_xlim(float(x[0]), float(x[-1]))
    below.legend(frameon=False, fontsize=9, ncols=3, loc="lower center")
    return above, below
