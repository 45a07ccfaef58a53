"""Pictures of a box at low frequency, with matplotlib: ``plot_...(value, ax=None) -> Axes``, as in ``plots``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .plots import _axes

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["plot_body"]

_POINTS = 1201


def plot_body(body: Any, ax: Axes | None = None) -> Axes:
    """Mobility of the top where it is tapped, dB relative to 1 s/kg: hole open (solid, its modes marked) and closed (dashed).
    At the foot: the rigid box's Helmholtz frequency and each plate on its own."""
    ax = _axes(ax)
    modes = body.modes(hole="open")
    own = [("rigid box", body.helmholtz_hz), ("top alone", body.top.frequency_hz)]
    if body.back is not None:
        own.append(("back alone", body.back.frequency_hz))
    low = 0.6 * min(modes[0].frequency_hz, *(f for _, f in own))
    high = 1.5 * max(modes[-1].frequency_hz, *(f for _, f in own))
    closed = body.modes(hole="closed")
    # the peaks themselves are among the points, however sharp
    peaks = [m.frequency_hz * (1.0 + k / (8.0 * m.q)) for m in [*modes, *closed] for k in range(-12, 13)]
    hz = np.unique(np.concatenate([np.geomspace(low, high, _POINTS), [f for f in peaks if low < f < high]]))
    for hole, dash, width in (("open", "-", 2.0), ("closed", "--", 1.3)):
        level = 20.0 * np.log10(np.asarray(body.mobility(hz, hole=hole).size_s_per_kg))
        ax.plot(hz, level, color="black", linestyle=dash, linewidth=width, label=f"hole {hole}")
    bottom, top = ax.get_ylim()
    ax.set_ylim(bottom - 0.06 * (top - bottom), top + 0.16 * (top - bottom))
    bottom, top = ax.get_ylim()
    last = 0.0
    row = 0
    for mode in modes:
        ax.axvline(mode.frequency_hz, color="0.5", linestyle=":", linewidth=1.0, zorder=0)
        # a second row for one too near its neighbour
        row = 1 - row if last and mode.frequency_hz < 1.18 * last else 0
        last = mode.frequency_hz
        words = f"{mode.frequency_hz:.1f} Hz, Q {mode.q:.0f}"
        box = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}
        at = top - (0.035 + 0.06 * row) * (top - bottom)
        ax.text(mode.frequency_hz, at, words, ha="center", va="center", fontsize=8, bbox=box)
    marks = ("o", "^", "s")
    for (name, f), mark in zip(own, marks, strict=False):
        ax.plot(f, bottom, marker=mark, markersize=9, color="black", markerfacecolor="white", linestyle="none", clip_on=False,
                zorder=4, label=f"{name}, {f:.1f} Hz")  # fmt: skip
    ax.set_xscale("log")
    ticks = [t for t in (30, 40, 50, 60, 80, 100, 125, 150, 200, 250, 300, 400, 500, 600, 800, 1000) if low <= t <= high]
    ax.set_xticks(ticks, [str(t) for t in ticks])
    ax.set_xticks([], minor=True)
    ax.set_xlim(low, high)
    ax.set(xlabel="frequency, Hz", ylabel="mobility, dB relative to 1 s/kg", title="The box where its top is tapped")
    ax.legend(frameon=False, fontsize=8, ncols=3, loc="upper center", bbox_to_anchor=(0.5, -0.16))
    return ax
