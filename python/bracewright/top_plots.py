"""The whole top with matplotlib, over its layout: seen from inside, neck end up, bass side to the right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .layout_plots import plot_layout

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["plot_mode", "plot_shaving", "plot_under"]


def _map(top: Any, values: np.ndarray, ax: Axes | None, label: str, title: str) -> Axes:
    """Values over the top as filled contours with lines that print without colour."""
    from matplotlib.tri import Triangulation

    ax = plot_layout(top.layout, ax)
    x, y, triangles = top.drawn()
    mesh = Triangulation(x, y, triangles)
    most = float(np.abs(values).max()) or 1.0
    levels = np.linspace(-most, most, 21)
    filled = ax.tricontourf(mesh, values, levels=levels, cmap="RdBu_r", zorder=0.5, alpha=0.85)
    ax.tricontour(mesh, values, levels=levels[levels > 0][::2], colors="black", linewidths=0.6, zorder=0.6)
    ax.tricontour(mesh, values, levels=levels[levels < 0][::2], colors="black", linewidths=0.6, linestyles="dashed", zorder=0.6)
    ax.tricontour(mesh, values, levels=[0.0], colors="black", linewidths=1.6, zorder=0.6)
    ax.figure.colorbar(filled, ax=ax, label=label, shrink=0.7)
    ax.set_title(title)
    return ax


def plot_under(under: Any, ax: Axes | None = None) -> Axes:
    """Deflection as a map: full lines inwards, dashed outwards, the heavy line where it is nothing."""
    most, (x, y) = under.greatest_mm
    title = f"{under.top.layout.name}: {most:.3f} mm at ({x:.0f}, {y:.0f}) mm"
    return _map(under.top, under.drawn_mm(), ax, "mm inwards", title)


def plot_mode(modes: Any, mode: int, ax: Axes | None = None) -> Axes:
    """A mode as a map, its greatest deflection 1; the heavy line is where nothing moves."""
    values = modes.drawn(mode)
    values = values / values[np.abs(values).argmax()]
    title = f"{modes.top.layout.name}: mode {mode + 1}, {modes.frequencies_hz[mode]:.0f} Hz"
    return _map(modes.top, values, ax, "part of the greatest", title)


def plot_shaving(shaving: Any, of: str, ax: Axes | None = None) -> Axes:
    """Along each brace what a gram off does to one of ``shaving.of``: the thicker the line, the more; dots where it lowers it."""
    import matplotlib.pyplot as plt

    if of not in shaving.of:
        raise ValueError(f"of is {of!r}; it must be one of: {', '.join(shaving.of)}")
    k = shaving.of.index(of)
    if ax is None:
        ax = plt.subplots(figsize=(7.0, 8.5), layout="constrained")[1]
    rows = [np.asarray(b.per_g[k]) for b in shaving.braces]
    most = max((float(np.abs(r).max()) for r in rows if len(r)), default=0.0) or 1.0
    for brace, row in zip(shaving.braces, rows, strict=True):
        at = np.asarray(brace.at_mm)
        for i in range(len(row) - 1):
            value = 0.5 * (row[i] + row[i + 1])
            look = {"color": "black" if value >= 0 else "0.45", "linestyle": "-" if value >= 0 else (0, (0.8, 0.6))}
            ax.plot(at[i : i + 2, 0], at[i : i + 2, 1], linewidth=0.5 + 12 * abs(value) / most, solid_capstyle="butt", **look)
        ax.annotate(brace.name, at[len(at) // 2], fontsize=8, xytext=(4, 4), textcoords="offset points")
    unit = shaving.unit[k]
    ax.set_aspect("equal")
    ax.invert_yaxis()
    title = f"{of}, {shaving.value[k]:.4g} {unit}: a gram off changes it by up to {most:.3g} {unit} (black raises, dotted lowers)"
    ax.set_title(title, fontsize=9)
    ax.set(xlabel="mm to the bass side (+), seen from inside", ylabel="mm from the neck end")
    return ax
