"""The work as a careful person writes it with numpy and scipy."""

import itertools
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from scipy.integrate import quad, simpson
from scipy.optimize import brentq, least_squares

from .scene import CAP_RISE_MM, E_OVER_G, SHEAR, SPAN_MM, STATIONS

# --- the shape ---


def rise(t):
    return 0.5 - 0.5 * np.cos(np.pi * t)


def height(x, s):
    """Heights at distances x >= 0 from the middle; one cosine a place."""
    down = x < s.floor_at
    t = np.where(down, (x - s.level) / (s.floor_at - s.level), (s.rise_at - x) / (s.rise_at - s.floor_at))
    np.clip(t, 0.0, 1.0, out=t)
    peak = np.where(down, s.top, s.second)
    h = peak - (peak - s.floor) * rise(t)
    return h - (s.second - s.end) * np.maximum((x - s.rise_at) / (s.half - s.rise_at), 0.0)


def rectangle(h, w):
    return w * h, w / 12 * h * h * h


def triangular_cap(h, w):
    c = np.minimum(h, CAP_RISE_MM)
    base = h - c
    below, above = w * base, 0.5 * w * c
    area = below + above
    top = base + c / 3
    centre = (0.5 * below * base + above * top) / area
    i = w / 12 * base**3 + below * (centre - base / 2) ** 2 + w / 36 * c**3 + above * (top - centre) ** 2
    return area, i


# --- numbers along ---


def along(s, section):
    """Height, area, second moment, EI at STATIONS stations and mass."""
    x = np.abs(np.linspace(-1, 1, STATIONS) * s.half)
    h = height(x, s)
    area, i = section(h, s.width)
    mass = (s.density * 2 * s.half)[:, 0] / (STATIONS - 1) * np.trapezoid(area, axis=-1)
    return h, area, i, s.e * i, mass


def along_many(s, section, out, threads):
    """The same for many, into arrays, a few braces at a time so that they stay in the cache."""
    step = 16

    def work(k):
        rows = slice(k, k + step)
        _, out[0][rows], out[1][rows], out[2][rows], out[3][rows] = along(s.part(rows), section)

    starts = range(0, len(s.half), step)
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(work, starts))


# --- three-point deflection ---

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
NODES, WEIGHTS = 0.5 * (_NODES + 1), 0.5 * _WEIGHTS


def gauss_places(s, half_span):
    """Eight Gauss places and weights in each smooth piece between the middle and a support."""
    edges = [0 * s.level, s.level, s.floor_at, s.rise_at, half_span + 0 * s.level]
    x = [a + (b - a) * NODES for a, b in itertools.pairwise(edges)]
    w = [(b - a) * WEIGHTS for a, b in itertools.pairwise(edges)]
    return np.concatenate(x, axis=-1), np.concatenate(w, axis=-1)


def three_point(s, section=rectangle, span=SPAN_MM):
    """mm/N; moment x/2 and shear 1/2 on each side."""
    x, w = gauss_places(s, span / 2)
    area, i = section(height(x, s), s.width)
    return ((((span / 2 - x) ** 2 / i + SHEAR * E_OVER_G / area) * w).sum(-1) / (2 * s.e[:, 0])).ravel()


def three_point_many(s, step=1000):
    return np.concatenate([three_point(s.part(slice(k, k + step))) for k in range(0, len(s.half), step)])


def three_point_reference(s, section=rectangle, span=SPAN_MM):
    """Adaptive quadrature with the breaks given, for one brace."""

    def f(x):
        area, i = section(height(np.array([[x]]), s), s.width)
        return float(((span / 2 - x) ** 2 / i + SHEAR * E_OVER_G / area)[0, 0])

    points = [float(v[0, 0]) for v in (s.level, s.floor_at, s.rise_at)]
    if section is triangular_cap:  # the rise of the cap is passed on each slope
        for a, b in ((s.level, s.floor_at), (s.floor_at, s.rise_at), (s.rise_at, s.half)):
            g = lambda x: float(height(np.array([[x]]), s)[0, 0]) - CAP_RISE_MM  # noqa: E731
            a, b = float(a[0, 0]), min(float(b[0, 0]), span / 2)
            if g(a) * g(b) < 0:
                points.append(brentq(g, a, b, xtol=1e-13))
    return quad(f, 0, span / 2, points=points, epsabs=0, epsrel=1e-12, limit=400)[0] / (2 * s.e[0, 0])


# --- passes ---


def passes(s, *, blank, allowance, depth, count):
    """Grams off at each pass and stiffness before and after each; supports at 9/10 of the length."""
    x = np.abs(np.linspace(-1, 1, STATIONS) * s.half)
    dx = (2 * s.half)[:, 0] / (STATIONS - 1)
    shape = height(x, s)
    inside = slice(STATIONS // 20, STATIONS - STATIONS // 20)
    arm = 0.25 * (0.9 * s.half - x[:, inside]) ** 2
    h = np.minimum(blank, shape + allowance)
    grams, stiffness, before = [], [], None
    for k in range(count + 1):
        if k:
            h = np.maximum(shape, h - depth)
        volume = np.trapezoid(h, axis=-1) * dx * s.width[:, 0]
        if k:
            grams.append((before - volume) * s.density[:, 0])
        before = volume
        area, i = rectangle(h[:, inside], s.width)
        stiffness.append(s.e[:, 0] / (simpson(arm / i + 0.25 * SHEAR * E_OVER_G / area, axis=-1) * dx))
    return np.stack(grams, -1), np.stack(stiffness, -1)


def passes_many(s, threads, **how):
    step = 16
    with ThreadPoolExecutor(threads) as pool:
        parts = list(pool.map(lambda k: passes(s.part(slice(k, k + step)), **how), range(0, len(s.half), step)))
    return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])


# --- fits ---


def fit(load, at_one_mpa, deflection):
    """E (MPa), give (mm/N) and the standard error of E from readings: load (a / E + give)."""
    out = least_squares(lambda p: load * (at_one_mpa / (1e4 * p[0]) + 1e-3 * p[1]) - deflection, [1.1, 1.0], method="lm")
    variance = 2 * out.cost / (len(load) - 2)
    return 1e4 * out.x[0], 1e-3 * out.x[1], 1e4 * np.sqrt(variance * np.linalg.inv(out.jac.T @ out.jac)[0, 0])


def floor_for(s, goal, low=4.0, high=12.0):
    """Height of the hollow's floor for a goal of mm/N."""
    return brentq(lambda f: three_point(s.with_floor(np.array([[f]])))[0] - goal, low, high, xtol=1e-9)


# --- tolerance ---


class Tolerance:
    """Draws of E, density, width and floor height; heights are linear in the floor, so no cosine is left in the draws."""

    def __init__(self, s):
        x, w = gauss_places(s, SPAN_MM / 2)
        xm, wm = gauss_places(s, float(s.half[0, 0]))
        at = lambda f: height(x, s.with_floor(np.array([[f]])))[0]  # noqa: E731
        volume = lambda f: 2 * float((wm * height(xm, s.with_floor(np.array([[f]])))).sum())  # noqa: E731
        self.s = s
        self.slope = at(9.0) - at(8.0)
        self.start = at(8.0) - 8.0 * self.slope
        moving = np.abs(self.slope) > 1e-12
        bend = (w[0] * 6 * (SPAN_MM / 2 - x[0]) ** 2)
        shear = w[0] * SHEAR * E_OVER_G / 2
        self.still = float((bend / self.start**3 + shear / self.start)[~moving].sum())
        self.slope, self.start, self.bend, self.shear = (v[moving].copy() for v in (self.slope, self.start, bend, shear))
        self.volume = (volume(8.0) - 8 * (volume(9.0) - volume(8.0)), volume(9.0) - volume(8.0))

    def draw(self, n, seed):
        z = np.random.default_rng(seed).standard_normal((4, n))
        s = self.s
        return (
            s.e[0, 0] * (1 + 0.10 * z[0]),
            s.density[0, 0] * (1 + 0.05 * z[1]),
            s.width[0, 0] + 0.1 * z[2],
            np.maximum(s.floor[0, 0] + 0.3 * z[3], 4.0),
        )

    def answer(self, e, density, width, floor, step=2000):
        k, m = np.empty(len(e)), np.empty(len(e))
        for a in range(0, len(e), step):
            r = slice(a, a + step)
            q = 1 / (self.start + floor[r, None] * self.slope)
            k[r] = e[r] * width[r] / (self.still + (q * q * q) @ self.bend + q @ self.shear)
            m[r] = density[r] * width[r] * (self.volume[0] + self.volume[1] * floor[r])
        return k, m

    def run(self, n, percent, seed=6):
        return np.percentile(np.stack(self.answer(*self.draw(n, seed))), percent, axis=1)
