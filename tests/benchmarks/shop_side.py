"""The virtual shop as a careful person writes it with numpy and scipy: the section beam, the curves, the hidden braces.

Lengths mm, loads N, moduli MPa, masses g. One stick, 8 mm wide and 16 high, with two half-cosine hollows; both the curves and
the truth are the section beam over Gauss stations. The rule is in `shop_one.py` a brace at a time, in `shop_all.py` for all at
once.
"""

from dataclasses import dataclass, fields

import numpy as np
from scipy.interpolate import CubicSpline, RectBivariateSpline

LENGTH, WIDTH, TOP, SPAN, LOAD, PAD = 420.0, 8.0, 16.0, 380.0, 20.0, 10.0
HOLLOWS, REACH, WHOLE = (120.0, 300.0), 60.0, 10.0
E = 11500.0
STEP = 15.0
PER_PERCENT = -0.018

# the shop: what is hidden, and how its tools err
BETWEEN, ALONG, ALONG_MM, SHEAR = 0.12, 0.04, (60.0, 100.0), (0.045, 0.08)
DENSITY_LN, GIVE_RANGE = 0.06, (0.0, 0.002)
REPEAT, RESEAT, DIAL_STEP, READINGS, DAMP = 0.006, 0.004, 0.01, 3, 0.3
HAND_BIAS, HAND_BETWEEN, HAND_ALONG, HAND_MM = 0.05, 0.08, 0.12, 30.0
SCALE_STEP, LOST_PART, MOST_PASSES = 0.01, 0.03, 12
U_DIAL = float(np.sqrt(REPEAT**2 / READINGS + RESEAT**2 + DIAL_STEP**2 / 12))

# the rule, and what it believes at first
ALPHA, ENOUGH, SHAVING, OUT_OF_REACH, MOST_SLIP = 0.02, 0.90, 0.15, 0.05, 5.0
SCATTER, SCATTER_MM, HAND_PASSES, DOUBT, DRIFT, U_SCALE = 0.08, 0.05, 30.0, 0.08, 0.005, 0.02
GIVE_MEAN, GIVE_SD = 0.001, 0.0006

N = 12
MOD, DEN, RATIO, GIVE, MODEL, BIAS, LOST, BEFORE, LAST, REST, DYN, WET = range(N)
SPREAD = {MOD: 0.12, RATIO: 0.16, GIVE: GIVE_SD, MODEL: 0.013, BIAS: 0.08, LOST: 0.01, DYN: 0.02 / 1.065}
FAR = np.sqrt(3.0)
WEIGHTS = np.array([1.0, 4.0, 1.0]) / 6


# --- the section beam over stations ---


class Stations:
    """Gauss stations between all fixed kinks, with the weights of bending and shear of one newton in the middle; arrays along
    a brace are kept where it is carved only, the rest enters as one sum.

    Two points to 2.5 mm: the kinks that a pass leaves are not followed, which costs 1e-4 in the deflection (rms).
    """

    def __init__(self, points=2, finer=6):
        ends = 0.5 * (LENGTH - SPAN)
        self.places = np.arange(0.0, LENGTH + 1, STEP)
        kinks = np.unique([*np.linspace(0, LENGTH, 28 * finer + 1), ends, LENGTH - ends, 205.0, 210.0, 215.0])
        kinks = kinks[(kinks >= ends) & (kinks <= LENGTH - ends)]
        t, w = np.polynomial.legendre.leggauss(points)
        d = np.diff(kinks)[:, None]
        x = self.x = (kinks[:-1, None] + d * 0.5 * (t + 1)).ravel()
        self.w = (0.5 * d * w).ravel()
        arm = np.minimum(x, LENGTH - x) - ends
        far = np.abs(x - 0.5 * LENGTH)
        under = np.maximum(0.5 * PAD - far, 0.0)
        moment = 0.5 * arm - 0.5 * under**2 / PAD
        force = 0.5 * np.minimum(far / (0.5 * PAD), 1.0)
        self.bend = self.w * moment * 0.5 * arm * 12 / WIDTH
        self.shear = self.w * force * 0.5 * 1.2 / WIDTH
        self.end = np.full(len(x), TOP)
        for at in HOLLOWS:
            near = np.abs(x - at) < REACH
            self.end[near] -= WHOLE * (0.5 + 0.5 * np.cos(np.pi * (x[near] - at) / REACH))
        self.cell = np.minimum((x / STEP).astype(int), len(self.places) - 2)
        self.part = x / STEP - self.cell
        cut = self.end < TOP
        self.still = ~cut, self.bend[~cut] / TOP**3, self.shear[~cut] / TOP
        self.whole = self.still[1].sum(), self.still[2].sum()
        for name in ("x", "w", "bend", "shear", "end", "cell", "part"):
            v = getattr(self, name)
            setattr(self, "every_" + name, v)
            setattr(self, name, v[cut])

    def between(self, v):
        """Straight between the places, where the brace is carved."""
        low = v[..., self.cell]
        return low + self.part * (v[..., self.cell + 1] - low)

    def soft(self, v):
        """One over a modulus at the places: where the brace is carved, and the sums of bending and shear where it is not."""
        c, p = self.every_cell, self.every_part
        m = 1 / (v[..., c] + p * (v[..., c + 1] - v[..., c]))
        still, bend, shear = self.still
        rest = m[..., still]
        return m[..., ~still], rest @ bend, rest @ shear

    def crest(self, depth):
        return np.maximum(TOP - np.asarray(depth)[..., None], self.end)

    def compliance(self, h, ratio, soft=1.0, still=None):
        """mm/N of crest heights, with E over the modulus along (its sums where nothing is carved) and a ratio of shear to it."""
        bend, shear = still or self.whole
        q = 1 / h
        m = soft * q
        q *= q
        q *= m
        return (bend + q @ self.bend + (shear + m @ self.shear) / ratio) / E


# --- the curves of the plan ---


class Curves:
    """ln compliance with its parabola in the shear ratio, mass, and what a slip of the hand adds, over depth: splines through a
    few solved depths, laid out as fine even tables that are quick to read."""

    FINE, COARSE = 2000, 400

    def __init__(self, ratio, density):
        s = Stations(4, finer=8)
        self.ratio, self.density = ratio, density
        depth = np.linspace(0, WHOLE, 13)
        fine = np.linspace(0, WHOLE, self.FINE + 1)
        step = 0.3
        lower, middle, upper = (np.log(s.compliance(s.crest(depth), ratio * np.exp(k * step))) for k in (-1, 0, 1))
        parts = np.stack([middle, (upper - lower) / (2 * step), (upper - 2 * middle + lower) / (2 * step * step)], -1)
        nodes = np.linspace(0, WHOLE, 5)
        crest = s.crest(nodes)
        ln = np.log(s.compliance(crest, ratio))
        slip = np.zeros((5, 5))
        growth = np.zeros(5)
        for j in range(1, 5):
            layer = (crest[0] - crest[j]) / nodes[j]
            slip[:, j] = (np.log(s.compliance(crest - 0.1 * layer, ratio)) - ln) * nodes[j] / 0.1
        for i in range(5):
            j = max(i, 1)
            layer = (crest[0] - crest[j]) / nodes[j]
            large = max(min(1.0, 0.25 * crest[i].min()), 0.2)
            by = np.log(s.compliance(crest[i] - large * layer, ratio)) - ln[i]
            growth[i] = max((by * nodes[j] / (large * slip[i, j]) - 1) / (large - 0.1), 0.0)
        mass = density * WIDTH * (s.crest(depth) @ s.w)  # where it is carved: only its losses are asked for
        rows = [CubicSpline(depth, parts)(fine).T, CubicSpline(depth, mass)(fine), CubicSpline(nodes, growth)(fine)]
        self.over_depth = np.vstack(rows).T.copy()
        coarse = np.linspace(0, WHOLE, self.COARSE + 1)
        self.slip = RectBivariateSpline(nodes, nodes, slip)(coarse, coarse)
        self.flat = self.slip.ravel()

    def at(self, depth):
        """Rows of: ln compliance, its slope and curvature in ln ratio, mass, growth of a slip."""
        u = np.clip(depth * (self.FINE / WHOLE), 0, self.FINE - 1e-9)
        i = u.astype(np.intp)
        low = self.over_depth[i]
        return (low + (u - i)[:, None] * (self.over_depth[i + 1] - low)).T

    def layers(self, start, end, at):
        """What a mm of slip in the layer between two depths adds to ln compliance at a depth."""
        end = np.maximum(end, 1e-3)
        start = np.minimum(start, end - 1e-3)
        scale = self.COARSE / WHOLE
        u = np.clip(at * scale, 0, self.COARSE - 1e-9)
        i = u.astype(np.intp)
        u -= i
        row = i * (self.COARSE + 1)

        def value(d):
            v = np.clip(d * scale, 0, self.COARSE - 1e-9)
            j = v.astype(np.intp)
            v -= j
            k = row + j
            t = self.flat
            near = t[k] + v * (t[k + 1] - t[k])
            k = k + self.COARSE + 1
            return near + u * (t[k] + v * (t[k + 1] - t[k]) - near)

        return (value(end) - value(start)) / (end - start)


def grown(e):
    """(exp(e) - 1) / e and its derivative."""
    small = np.abs(e) < 1e-3
    e = np.where(small, 1.0, e)
    g = np.expm1(e) / e
    return np.where(small, 1 + 0.5 * e, g), np.where(small, 0.5, (g * (e - 1) + 1) / e)


# --- random numbers: fresh ones, or a stored set so that two sides meet the same braces ---


class Fresh:
    def __init__(self, rng):
        self.normal, self.even = rng.standard_normal, rng.random

    def start(self, rows):
        n = len(rows)
        return self.normal((n, 3)), self.even((n, 3)), self.normal((n, 29))

    def turn(self, stage, rows):
        return self.normal((len(rows), 2 + READINGS))

    def carve(self, stage, rows):
        return self.normal((len(rows), 29))


class Stored:
    def __init__(self, n, seed):
        rng = np.random.default_rng(seed)
        self.first = rng.standard_normal((n, 3)), rng.random((n, 3)), rng.standard_normal((n, 29))
        self.turns = rng.standard_normal((MOST_PASSES + 1, n, 2 + READINGS))
        self.passes = rng.standard_normal((MOST_PASSES, n, 29))

    def start(self, rows):
        return tuple(v[rows] for v in self.first)

    def turn(self, stage, rows):
        return self.turns[stage][rows]

    def carve(self, stage, rows):
        return self.passes[stage][rows]


# --- hidden braces ---


class Part:
    """Rows of a dataclass of arrays."""

    def part(self, rows):
        return type(self)(*(getattr(self, f.name)[rows] for f in fields(self)))


def wandering(z, reach):
    """Unit normals at the places, neighbours alike over a reach."""
    r = np.exp(-STEP / reach)
    out = z.copy()
    for k in range(1, z.shape[-1]):
        out[..., k] = r * out[..., k - 1] + np.sqrt(1 - r * r) * z[..., k]
    return out


@dataclass
class Hidden(Part):
    """Braces of the shop, a row each."""

    soft: np.ndarray  # E over the modulus along
    still_bend: np.ndarray
    still_shear: np.ndarray
    ratio: np.ndarray
    density: np.ndarray
    give: np.ndarray
    slip: np.ndarray  # of the hand, over its aim
    damp: np.ndarray
    crest: np.ndarray
    believed: np.ndarray

    @classmethod
    def drawn(cls, s, luck, rows):
        z, u, along = luck.start(rows)
        reach = ALONG_MM[0] + (ALONG_MM[1] - ALONG_MM[0]) * u[:, 0]
        varied = np.maximum(1 + ALONG * wandering(along, reach), 0.2)
        n = len(rows)
        return cls(
            *s.soft(np.exp(BETWEEN * z[:, 0])[:, None] * varied),
            SHEAR[0] + (SHEAR[1] - SHEAR[0]) * u[:, 1],
            np.exp(DENSITY_LN * z[:, 1]),
            GIVE_RANGE[0] + (GIVE_RANGE[1] - GIVE_RANGE[0]) * u[:, 2],
            1 + HAND_BIAS + HAND_BETWEEN * z[:, 2],
            np.zeros(n),
            np.full((n, len(s.x)), TOP),
            np.zeros(n),
        )

    def own(self, s):
        return LOAD * s.compliance(self.crest, self.ratio, self.soft, (self.still_bend, self.still_shear))

    def read(self, own, z):
        true = own / (1 + PER_PERCENT * self.damp) + LOAD * self.give + RESEAT * z[:, 0]
        self.damp = self.damp + DAMP * z[:, 1]
        return (np.round((true[:, None] + REPEAT * z[:, 2:]) / DIAL_STEP) * DIAL_STEP).mean(-1)

    def carve(self, s, aim, density, z):
        """Shavings in the pan and really off, g."""
        to = self.believed + aim
        take = s.crest(self.believed) - s.crest(to)
        off = s.between(HAND_ALONG * wandering(z, HAND_MM) + np.maximum(self.slip, 0.0)[:, None])
        off *= take
        np.clip(off, 0.0, np.maximum(self.crest - 0.05 * TOP, 0.0), out=off)
        self.crest = self.crest - off
        self.believed = np.minimum(to, WHOLE)
        grams = density * self.density * WIDTH * (off @ s.w)
        return np.round(grams * (1 - LOST_PART) / SCALE_STEP) * SCALE_STEP, grams


@dataclass
class Ends:
    deflection: np.ndarray
    passes: np.ndarray
    grams: np.ndarray

    def table(self, window):
        soft, stiff = np.mean(self.deflection > window[2]), np.mean(self.deflection < window[0])
        return np.array([soft, 1 - soft - stiff, stiff, self.passes.mean(), self.grams.mean()])
