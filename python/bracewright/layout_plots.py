"""A braced top with matplotlib, as in ``plots``: seen from inside, neck end up, bass side to the right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .plots import _WOOD, _axes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

__all__ = ["plot_layout"]

_SIGNS = {"clash": ("x", 11, 2.6), "close": ("^", 9, 1.4)}


def _closed(ax: Axes, points: Sequence[tuple[float, float]], **look: Any) -> None:
    p = np.asarray([*points, points[0]], dtype=float)
    ax.fill(p[:, 0], p[:, 1], **look)


def plot_layout(layout: Any, ax: Axes | None = None, report: Any = None) -> Axes:
    """Outline, hole, braces in their true widths, plates hatched, the bridge dashed; with a report its clashes are crossed."""
    ax = _axes(ax, 7.0, 8.5)
    x, y, _ = layout.outline.points(tolerance_mm=0.1)
    ax.plot(np.append(x, x[0]), np.append(y, y[0]), color="black", linewidth=2.0)
    if layout.lining_mm > 0:
        x, y = layout.outline.inset(layout.lining_mm)
        ax.plot(np.append(x, x[0]), np.append(y, y[0]), color="black", linewidth=0.8, linestyle=":")
    for part in layout.parts:
        hatch = "..." if part.role == "bridge-plate" else "///"
        _closed(ax, part.corners_mm, facecolor="none", edgecolor="0.45", hatch=hatch, linewidth=0.8)
    if layout.hole is not None:
        x, y = layout.hole.points(tolerance_mm=0.1)
        ax.plot(np.append(x, x[0]), np.append(y, y[0]), color="black", linewidth=1.8)
    for brace in layout.braces:
        _closed(ax, brace.corners_mm, facecolor=(*_rgb(_WOOD), 0.35), edgecolor="black", linewidth=1.1)
    if layout.bridge is not None:
        _closed(ax, layout.bridge.foot_mm, facecolor="none", edgecolor="black", linestyle="--", linewidth=1.2)
        (x0, y0), (x1, y1) = layout.bridge.saddle_mm
        ax.plot([x0, x1], [y0, y1], color="black", linewidth=2.6)
        holes = np.asarray(layout.bridge.holes_mm, dtype=float)
        ax.plot(holes[:, 0], holes[:, 1], "o", color="black", markersize=4, fillstyle="none")
    for state, (marker, size, width) in _SIGNS.items():
        rows = [] if report is None else [r for r in report.rows if r.state == state]
        if rows:
            ax.plot(
                [r.x_mm for r in rows], [r.y_mm for r in rows], marker, color="black", markersize=size,
                markeredgewidth=width, fillstyle="none", label=state,
            )  # fmt: skip
    if report is not None and ax.get_legend_handles_labels()[0]:
        ax.legend(frameon=False, loc="lower left")
    ax.set_aspect("equal")
    if not ax.yaxis_inverted():
        ax.invert_yaxis()
    ax.set(xlabel="mm to the bass side (+), seen from inside", ylabel="mm from the neck end", title=layout.name)
    return ax


def _rgb(colour: str) -> tuple[float, float, float]:
    return tuple(int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))  # type: ignore[return-value]
