"""Brace outlines and width fields of the reference cases, built from plain dictionaries (as stored in the JSON table).

x runs along the brace, z up from the glue face, all in mm. Every outline says where it has kinks, so that the mesh can
put an element line there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Curve:
    """A height over x with the places where its slope or curvature jumps."""

    at: Callable[[Array], Array]
    breaks_mm: tuple[float, ...]


def _pieces(spec: dict) -> Curve:
    x, h = np.asarray(spec["x_mm"], float), np.asarray(spec["h_mm"], float)

    def at(s: Array) -> Array:
        i = np.clip(np.searchsorted(x, s, side="right") - 1, 0, len(x) - 2)
        u = (s - x[i]) / (x[i + 1] - x[i])
        if spec["law"] == "half-cosine":
            u = 0.5 * (1.0 - np.cos(np.pi * u))
        return h[i] + (h[i + 1] - h[i]) * u

    return Curve(at, tuple(x))


def _parabola(spec: dict) -> Curve:
    c, a, top, end = (spec[k] for k in ("centre_mm", "half_length_mm", "h_centre_mm", "h_end_mm"))
    return Curve(lambda s: end + (top - end) * (1.0 - ((s - c) / a) ** 2), ())


def _scalloped(spec: dict) -> Curve:
    under = curve(spec["base"])
    breaks = list(under.breaks_mm)
    for k in spec["scallops"]:
        breaks += [k["at_mm"] - k["left_mm"], k["at_mm"], k["at_mm"] + k["right_mm"]]

    def at(s: Array) -> Array:
        h = under.at(s)
        for k in spec["scallops"]:
            v = (s - k["at_mm"]) / np.where(s < k["at_mm"], k["left_mm"], k["right_mm"])
            h = h - k["depth_mm"] * np.where(np.abs(v) <= 1.0, 0.5 * (1.0 + np.cos(np.pi * v)), 0.0)
        return h

    return Curve(at, tuple(breaks))


def _arc(spec: dict) -> Curve:
    """Circular glue face, highest at the centre, z = 0 at the two ends."""
    r, c, a = spec["radius_mm"], spec["centre_mm"], spec["half_length_mm"]
    return Curve(lambda s: np.sqrt(r * r - (s - c) ** 2) - np.sqrt(r * r - a * a), ())


def curve(spec: dict) -> Curve:
    """The curve of a specification; ``{"kind": "flat", "h_mm": 16}`` and the kinds above."""
    kinds = {"pieces": _pieces, "parabola": _parabola, "scalloped": _scalloped, "arc": _arc}
    if spec["kind"] == "flat":
        h = float(spec["h_mm"])
        return Curve(lambda s: np.full_like(np.asarray(s, float), h), ())
    return kinds[spec["kind"]](spec)


@dataclass(frozen=True)
class Section:
    """Width over height; ``width(z, h)`` counts z from the glue face, ``line(h)`` is the cap's base line or None."""

    width: Callable[[Array, Array], Array]
    line: Callable[[Array], Array] | None
    rise_mm: float | None


def section(spec: dict) -> Section:
    """Rectangle, straight tapered sides (crest width at the crest of every x), or a cap of fixed rise.

    Cap: full width up to h - c, then w (1 - y/c)^p with y above the cap's base; c = min(rise, h).
    """
    w = float(spec["width_mm"])
    if spec["kind"] == "rectangle":
        return Section(lambda z, h: np.full_like(z, w), None, None)
    if spec["kind"] == "sides":
        t = float(spec["crest_width_mm"])
        return Section(lambda z, h: w + (t - w) * np.clip(z / h, 0.0, 1.0), None, None)
    rise, p = float(spec["rise_mm"]), float(spec["power"])

    def width(z: Array, h: Array) -> Array:
        c = np.minimum(rise, h)
        return w * np.clip((h - z) / c, 0.0, 1.0) ** p

    return Section(width, lambda h: np.maximum(h - rise, 0.02 * h), rise)


def crossings(height: Curve, value: float, length: float) -> list[float]:
    """Where the height passes through a value, by bisection on a fine scan."""
    s = np.linspace(0.0, length, 4001)
    g = height.at(s) - value
    out = []
    for i in np.nonzero(g[:-1] * g[1:] < 0.0)[0]:
        a, b = s[i], s[i + 1]
        for _ in range(60):
            m = 0.5 * (a + b)
            same = (height.at(np.array([m]))[0] - value) * g[i] > 0.0
            a, b = (m, b) if same else (a, m)
        out.append(0.5 * (a + b))
    return out
