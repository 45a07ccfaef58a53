"""The whole top with matplotlib, over its layout: seen from inside, neck end up, bass side to the right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .errors import InvalidInputError
from .layout_plots import plot_layout

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["plot_mode", "plot_shaving", "plot_under"]


def _map(top: Any, values: np.ndarray, ax: Axes | None, label: str, title: str) -> Axes:
    """Values over the top as filled contours at round steps, with lines that print without colour."""
    from matplotlib.ticker import MaxNLocator
    from matplotlib.tri import Triangulation

    ax = plot_layout(top.layout, ax)
    x, y, triangles = top.drawn()
    mesh = Triangulation(x, y, triangles)
    most = float(np.abs(values).max()) or 1.0
    levels = np.asarray(MaxNLocator(20, symmetric=True, steps=[1, 2, 2.5, 5, 10]).tick_values(-most, most))
    filled = ax.tricontourf(mesh, values, levels=levels, cmap="RdBu_r", zorder=0.5, alpha=0.85)
    for way, style in ((1, "-"), (-1, "--")):
        of_this_way = np.sort(np.abs(levels[way * levels > 1e-6 * most]))[1::2]
        if len(of_this_way):
            at = np.sort(way * of_this_way)
            ax.tricontour(mesh, values, levels=at, colors="black", linewidths=0.6, linestyles=style, zorder=0.6)
    moving = _moving(x, y, triangles, np.abs(values) / most)
    if moving.any() and values[triangles[moving]].min() < 0 < values[triangles[moving]].max():
        ax.tricontour(Triangulation(x, y, triangles[moving]), values, levels=[0.0], colors="black", linewidths=1.6, zorder=0.6)
    ax.figure.colorbar(filled, ax=ax, label=label, shrink=0.7)
    ax.set_title(title)
    return ax


def _moving(x: np.ndarray, y: np.ndarray, triangles: np.ndarray, size: np.ndarray) -> np.ndarray:
    """Which triangles may have a line where nothing moves: off a held rim, and with something that moves within some centimetres.

    Where next to nothing moves the line would wander with the mesh and say nothing.
    """
    square = 25.0
    i, j = (np.floor((v - v.min()) / square).astype(int) + 1 for v in (x, y))
    most = np.zeros((i.max() + 2, j.max() + 2))
    np.maximum.at(most, (i, j), size)
    around = np.max([np.roll(most, (a, b), axis=(0, 1)) for a in (-1, 0, 1) for b in (-1, 0, 1)], axis=0)
    at = triangles[:, 0]
    return (around[i[at], j[at]] > 0.06) & (size[triangles].min(axis=1) > 1e-9)


def plot_under(under: Any, ax: Axes | None = None) -> Axes:
    """Deflection as a map: full lines where the top sinks, dashed where it rises, the heavy line where it does neither; a cross
    where it does most."""
    values = under.drawn_mm()
    x, y, _ = under.top.drawn()
    most = float(np.abs(values).max())
    said, crosses = [], []
    for way, what in ((-1, "rises"), (1, "sinks")):
        k = int(np.argmax(way * values))
        if way * values[k] > 0.02 * most:
            said.append(f"{what} {abs(values[k]):.3g} mm at ({x[k]:.0f}, {y[k]:.0f})")
            crosses.append((x[k], y[k]))
    ax = _map(under.top, values, ax, "mm inwards", "\n".join([under.top.layout.name, ", ".join(said) or "does not move"]))
    for cross in crosses:
        ax.plot(*cross, "+", color="black", markersize=11, markeredgewidth=1.6)
    return ax


def plot_mode(modes: Any, mode: int, ax: Axes | None = None) -> Axes:
    """A mode as a map, its greatest deflection 1; the heavy line is where nothing moves."""
    values = modes.drawn(mode)
    values = values / values[np.abs(values).argmax()]
    title = f"{modes.top.layout.name}\nmode {mode + 1}, {modes.frequencies_hz[mode]:.0f} Hz"
    return _map(modes.top, values, ax, "part of the greatest", title)


def _round(value: float) -> str:
    """Two figures, no exponent."""
    return f"{value:+.{max(0, 1 - int(np.floor(np.log10(abs(value)))))}f}"


def plot_shaving(shaving: Any, of: str, ax: Axes | None = None) -> Axes:
    """Along each brace what a gram off does to one of ``shaving.of``, the wider the more: black raises it, white lowers it.

    On the axes of ``layout.plot()`` it lies over the layout.
    """
    from .plots import _axes

    if of not in shaving.of:
        raise InvalidInputError(f"of is {of!r}; it must be one of: {', '.join(shaving.of)}")
    k = shaving.of.index(of)
    over = ax is not None and ax.yaxis_inverted()
    ax = _axes(ax, 7.0, 8.5)
    rows = [np.asarray(b.per_g[k]) for b in shaving.braces]
    most = max((float(np.abs(r).max()) for r in rows if len(r)), default=0.0) or 1.0
    places = np.array([p for b in shaving.braces for p in b.at_mm], dtype=float).reshape(-1, 2)
    middle_of_all = places.mean(axis=0) if len(places) else np.zeros(2)
    reach = 0.045 * max(float(np.ptp(places[:, 1])) if len(places) else 0.0, 100.0)
    for brace, row in zip(shaving.braces, rows, strict=True):
        at = np.asarray(brace.at_mm, dtype=float)
        along = at[-1] - at[0]
        across = np.array([-along[1], along[0]]) / (np.hypot(*along) or 1.0)
        ax.plot(at[:, 0], at[:, 1], color="black", linewidth=0.6, zorder=3)
        # finely, so that a band changes over where the row crosses nothing
        fine = np.linspace(0, len(row) - 1, 20 * len(row))
        value = np.interp(fine, np.arange(len(row)), row)
        middle = np.column_stack([np.interp(fine, np.arange(len(row)), at[:, i]) for i in (0, 1)])
        for way, face in ((1, "black"), (-1, "white")):
            part = np.where(way * value > 5e-3 * most, way * value / most, 0.0)
            if not part.any():
                continue
            half = np.outer(0.5 * reach * part, across)
            edge = np.concatenate([middle + half, (middle - half)[::-1]])
            ax.fill(edge[:, 0], edge[:, 1], facecolor=face, edgecolor="black", linewidth=0.8, zorder=4)
        top = int(np.argmax(np.abs(row)))
        if abs(row[top]) > 0.15 * most:
            ax.annotate(
                _round(row[top]), at[top], xytext=(9, -3), textcoords="offset points", fontsize=8, zorder=6,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
            )  # fmt: skip
        if not over:
            # at its outer end: legs are called by where they end
            end = max(at[0], at[-1], key=lambda p: float(np.hypot(*(p - middle_of_all))))
            ax.annotate(brace.name, end, fontsize=8, xytext=(0, -11), textcoords="offset points", ha="center", zorder=6)
    unit = shaving.unit[k]
    ax.set_aspect("equal")
    if not ax.yaxis_inverted():
        ax.invert_yaxis()
    ax.set_title(f"{of}: {shaving.value[k]:.3g} {unit} now\n{unit} for a gram off there: black raises, white lowers")
    ax.set(xlabel="mm to the bass side (+), seen from inside", ylabel="mm from the neck end")
    return ax
