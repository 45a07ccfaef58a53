"""The virtual shop as a careful person writes it with numpy and scipy: hidden braces, the curves, and the rule over all at once.

Lengths mm, loads N, moduli MPa, masses g. One stick, 8 mm wide and 16 high, with two half-cosine hollows; both the curves and
the truth are the section beam over Gauss stations. The rule a brace at a time is in `shop_one.py`.
"""

from dataclasses import dataclass, fields

import numpy as np
from scipy.interpolate import CubicSpline, RectBivariateSpline
from scipy.special import ndtr, ndtri

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
SCATTER, SCATTER_MM, HAND_PASSES, DOUBT, DRIFT, U_SCALE = 0.10, 0.10, 30.0, 0.03, 0.005, 0.02
GIVE_MEAN, GIVE_SD = 0.001, 0.0006

N = 11
MOD, DEN, RATIO, GIVE, MODEL, BIAS, LOST, BEFORE, LAST, REST, DYN = range(N)
SPREAD = {MOD: 0.12, RATIO: 0.16, GIVE: GIVE_SD, MODEL: 0.01, BIAS: 0.08, LOST: 0.01, DYN: 0.02 / 1.065}
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


# --- the rule over all braces at once ---


@dataclass
class Known(Part):
    """What is known of every brace: means and covariances of the eleven, depths aimed at, the hand's scatter, and what the
    curves say at the depth."""

    mean: np.ndarray
    cov: np.ndarray
    start: np.ndarray  # depth before the last pass
    end: np.ndarray
    squared: np.ndarray
    passes: np.ndarray
    read: np.ndarray  # the curves' row at `end`, a slip's share by earlier passes and by the last, mass at `start`

    @classmethod
    def first(cls, curves, n, density_ln):
        mean, cov = np.zeros((n, N)), np.zeros((n, N, N))
        mean[:, [GIVE, BIAS, LOST, DYN]] = GIVE_MEAN, 0.05, 0.03, np.log(1.065)
        for i, sd in {**SPREAD, DEN: density_ln}.items():
            cov[:, i, i] = sd * sd
        out = cls(mean, cov, np.zeros(n), np.zeros(n), np.ones(n), np.full(n, HAND_PASSES), np.zeros((n, 8)))
        out.look_up(curves)
        return out

    def look_up(self, curves):
        r = self.read
        r[:, :5] = curves.at(self.end).T
        r[:, 5] = curves.layers(0 * self.start, self.start, self.end)
        r[:, 6] = curves.layers(self.start, self.end, self.end)
        r[:, 7] = curves.at(self.start)[3]

    def ln_own(self):
        """ln of the brace's own deflection, and its slopes."""
        x, r = self.mean, self.read
        e = 2 * r[:, 4] * (x[:, BEFORE] + x[:, LAST])
        g, by_e = grown(e)
        plain = r[:, 5] * x[:, BEFORE] + r[:, 6] * x[:, LAST]
        slope = np.zeros_like(x)
        slope[:, MOD], slope[:, MODEL] = -1, 1
        slope[:, RATIO] = r[:, 1] + 2 * x[:, RATIO] * r[:, 2]
        more = 2 * r[:, 4] * plain * by_e
        slope[:, BEFORE], slope[:, LAST] = r[:, 5] * g + more, r[:, 6] * g + more
        c = r[:, 0] + x[:, RATIO] * (r[:, 1] + x[:, RATIO] * r[:, 2])
        return np.log(LOAD) + c + plain * g - x[:, MOD] + x[:, MODEL], slope

    def dial(self):
        ln, slope = self.ln_own()
        alone = np.exp(ln)
        share = 1 / (1 + alone / LOAD * np.maximum(self.mean[:, REST], 0))
        own = alone * share
        slope *= (own * share)[:, None]
        slope[:, REST] = -own * share * alone / LOAD
        slope[:, GIVE] = LOAD
        value = own + LOAD * np.maximum(self.mean[:, GIVE], 0)
        return np.log(value), slope / value[:, None]

    def pan(self):
        x = self.mean
        aimed = self.read[:, 7] - self.read[:, 3]
        per_mm = aimed / np.maximum(self.end - self.start, 1e-3)
        density, kept = np.exp(x[:, DEN]), 1 - x[:, LOST]
        off = density * (aimed + per_mm * x[:, LAST])
        slope = np.zeros_like(x)
        slope[:, DEN], slope[:, LOST], slope[:, LAST] = kept * off, -off, kept * density * per_mm
        return kept * off, slope

    def take_in(self, expect, seen, u):
        """The iterated update."""
        prior = self.mean.copy()
        sd = np.sqrt(np.maximum(np.diagonal(self.cov, axis1=1, axis2=2), 1e-300))
        for _ in range(8):
            expected, slope = expect()
            along = (self.cov @ slope[:, :, None])[:, :, 0]
            spread = np.einsum("ni,ni->n", slope, along) + u * u
            gain = along / spread[:, None]
            off = seen - expected - np.einsum("ni,ni->n", slope, prior - self.mean)
            to = prior + gain * off[:, None]
            moved = np.max(np.abs(to - self.mean) / sd)
            self.mean = to
            if moved < 1e-9:
                break
        self.cov -= (along[:, :, None] * gain[:, None, :])
        self.mean[:, LOST] = np.clip(self.mean[:, LOST], 0.0, 0.9)

    def scatter(self, aim):
        return np.where(aim > 0, (SCATTER * aim) ** 2 + SCATTER_MM**2, 0.0)

    def settled(self):
        """The last pass joined to those before it, and the hand's scatter learned from it."""
        c = self.cov
        aim = self.end - self.start
        was = np.maximum(self.scatter(aim), 1e-30)
        off = self.mean[:, LAST] - aim * self.mean[:, BIAS]
        left = c[:, LAST, LAST] - 2 * aim * c[:, LAST, BIAS] + aim * aim * c[:, BIAS, BIAS]
        known = np.clip(1 - left / (self.squared * was), 0.0, 1.0)
        known[(known < 0.05) | (aim <= 0)] = 0.0
        squared = np.where(known > 0, (self.passes * self.squared + off * off / was) / (self.passes + known), self.squared)
        mean, cov = self.mean.copy(), c.copy()
        mean[:, BEFORE] += mean[:, LAST]
        cov[:, BEFORE] += cov[:, LAST]
        cov[:, :, BEFORE] += cov[:, :, LAST]
        return Known(mean, cov, self.start, self.end, squared, self.passes + known, self.read)

    def carve(self, curves, aim):
        was = self.ln_own()[0]
        out = self.settled()
        out.read = self.read.copy()
        out.start, out.end = self.end, self.end + aim
        out.mean[:, LAST] = aim * out.mean[:, BIAS]
        out.cov[:, LAST] = aim[:, None] * out.cov[:, BIAS]
        out.cov[:, :, LAST] = aim[:, None] * out.cov[:, :, BIAS]
        out.cov[:, LAST, LAST] = aim * aim * out.cov[:, BIAS, BIAS] + out.squared * out.scatter(aim)
        out.look_up(curves)
        out.cov[:, MODEL, MODEL] += (DOUBT * (out.ln_own()[0] - was)) ** 2 + DRIFT**2
        return out


class Ahead:
    """One pass ahead of every brace: only the handful of covariances that change with the aim are touched."""

    def __init__(self, known, curves, window):
        self.curves, self.window = curves, window
        self.was = known.ln_own()[0]
        k = known.settled()
        self.k, c = k, k.cov
        m = k.mean
        self.still = np.log(LOAD) - m[:, MOD] + m[:, MODEL]
        self.a = [c[:, MOD, MOD] + c[:, MODEL, MODEL] - 2 * c[:, MOD, MODEL]]
        self.a += [c[:, RATIO, RATIO], c[:, MODEL, RATIO] - c[:, MOD, RATIO]]
        self.b = [c[:, BEFORE, BEFORE], c[:, MODEL, BEFORE] - c[:, MOD, BEFORE], c[:, RATIO, BEFORE]]
        self.h = [c[:, BIAS, MODEL] - c[:, BIAS, MOD], c[:, BIAS, RATIO], c[:, BIAS, BEFORE], c[:, BIAS, BIAS]]
        n = k.passes
        far = FAR * np.sqrt(2 / n + 2 / (n * n))
        self.factor = np.exp(1 / n + far * np.array([-1.0, 0.0, 1.0])[:, None])

    def rows(self, rows):
        out = object.__new__(Ahead)
        out.curves, out.window, out.k = self.curves, self.window, self.k.part(rows)
        out.was, out.still, out.factor = self.was[rows], self.still[rows], self.factor[:, rows]
        out.a, out.b, out.h = ([v[rows] for v in part] for part in (self.a, self.b, self.h))
        return out

    def curve(self, aim):
        """ln before any slip, its slope in the ratio, a slip's shares and its growth."""
        k, to = self.k, self.k.end + aim
        p0, p1, p2, _, growth = self.curves.at(to)
        ratio = k.mean[:, RATIO]
        by = self.curves.layers(0 * to, k.end, to), self.curves.layers(k.end, to, to)
        return self.still + p0 + ratio * (p1 + ratio * p2), p1 + 2 * ratio * p2, *by, growth

    def ln(self, aim):
        base, _, by0, by1, growth = self.curve(aim)
        before, last = self.k.mean[:, BEFORE], aim * self.k.mean[:, BIAS]
        return base + (by0 * before + by1 * last) * grown(2 * growth * (before + last))[0]

    def past(self, aim, limit):
        """Chance of being past a limit after a pass with this aim."""
        k = self.k
        base, ratio, by0, by1, growth = self.curve(aim)
        before, mean_last = k.mean[:, BEFORE], aim * k.mean[:, BIAS]
        ln = base + (by0 * before + by1 * mean_last) * grown(2 * growth * (before + mean_last))[0]
        hand2 = aim * aim * self.h[3] + self.factor * (k.squared * k.scatter(aim))
        hand = np.sqrt(hand2)
        t = np.zeros_like(hand)
        last, moved = mean_last + t, 1.0
        for step in range(7):
            g, by_e = grown(2 * growth * (before + last))
            plain = by0 * before + by1 * last
            more = 2 * growth * plain * by_e
            here, b1 = base + plain * g, by1 * g + more
            if step == 6 or moved < 1e-3:
                break
            to = np.clip(t + (limit - here) / np.maximum(hand * b1, 1e-12), -MOST_SLIP, MOST_SLIP)
            moved = np.max(np.abs(to - t))
            t = to
            last = mean_last + t * hand
        b0 = by0 * g + more
        softer = DOUBT * (ln - self.was)
        a, b, h = self.a, self.b, self.h
        v = a[0] + softer * softer + DRIFT**2 + ratio * (ratio * a[1] + 2 * a[2])
        v = v + b0 * (b0 * b[0] + 2 * (b[1] + ratio * b[2])) + b1 * b1 * hand2
        v += 2 * aim * b1 * (h[0] + ratio * h[1] + b0 * h[2])
        return WEIGHTS @ ndtr((here - t * hand * b1 - limit) / np.sqrt(v))


def standing(known, window):
    """Chances of being past the window and in it as it stands."""
    ln, slope = known.ln_own()
    sd = np.sqrt(np.einsum("ni,nij,nj->n", slope, known.cov, slope, optimize=True))
    over, low = (ndtr((ln - np.log(limit)) / sd) for limit in (window[2], window[0]))
    return over, low - over


def halved(f, low, high, f_low, f_high):
    """Where falling values cross zero, by as many halvings as a ten-millionth takes."""
    for _ in range(24):
        m = 0.5 * (low + high)
        up = f(m) >= 0
        low, high = np.where(up, m, low), np.where(up, high, m)
    return low


def false_position(f, low, high, f_low, f_high):
    """The same by false position, the stale end halved (Illinois)."""
    side = np.zeros(len(low))
    within = 1e-7 * high
    x = low
    for _ in range(60):
        was, x = x, (low * f_high - high * f_low) / (f_high - f_low)
        if np.all((np.abs(x - was) < within) | (high - low < within)):
            break
        y = f(x)
        up = y >= 0
        f_high, f_low = np.where(up & (side > 0), 0.5 * f_high, f_high), np.where(~up & (side < 0), 0.5 * f_low, f_low)
        low, f_low = np.where(up, x, low), np.where(up, y, f_low)
        high, f_high = np.where(up, high, x), np.where(up, f_high, y)
        side = np.where(up, 1.0, -1.0)
    return x


def greatest(f, ahead, end, root):
    """Greatest aim from 0 to `end` at which f is not below 0; f(ahead, aim)."""
    low = np.full(len(end), 1e-9)
    f_low, f_high = f(ahead, low), f(ahead, end)
    out = np.where(f_low < 0, 0.0, end)
    inside = np.flatnonzero((f_low >= 0) & (f_high < 0) & (end > 0))
    if len(inside):
        few = ahead.rows(inside)
        out[inside] = root(lambda aim: f(few, aim), low[inside], end[inside], f_low[inside], f_high[inside])
    return out, f_high


def next_aims(known, curves, window, root):
    """Depth to aim at for every brace; 0 to stop."""
    over, inside = standing(known, window)
    going = np.flatnonzero((over <= 0.5) & (inside < ENOUGH))
    aims = np.zeros(len(over))
    if not len(going):
        return aims
    low, target, high = np.log(window)
    k = known.part(going)
    ahead = Ahead(k, curves, window)
    depth = k.end + k.mean[:, BEFORE] + k.mean[:, LAST]
    further = np.maximum(np.minimum((WHOLE - depth) / np.maximum(1 + k.mean[:, BIAS], 0.1), WHOLE - k.end), 0.0)
    straight, short = greatest(lambda a, aim: target - a.ln(aim), ahead, further, root)
    z = ndtri(ALPHA)
    safe, _ = greatest(lambda a, aim: z - ndtri(np.maximum(a.past(aim, high), 1e-300)), ahead, straight, root)
    aim = safe
    # short of both target and chance: is the window within reach at all?
    far = np.flatnonzero((aim >= further) & (short > 0))
    if len(far):
        reach = ahead.rows(far).past(further[far], low)
        aim[far[reach < OUT_OF_REACH]] = 0.0
    aim[aim < SHAVING] = 0.0
    aims[going] = aim
    return aims


@dataclass
class Ends:
    deflection: np.ndarray
    passes: np.ndarray
    grams: np.ndarray

    def table(self, window):
        soft, stiff = np.mean(self.deflection > window[2]), np.mean(self.deflection < window[0])
        return np.array([soft, 1 - soft - stiff, stiff, self.passes.mean(), self.grams.mean()])


def shop(n, window, ratio, density, luck, *, root=false_position, density_ln):
    """The shop over all braces at once; those that are done are dropped."""
    curves, s = Curves(ratio, density), Stations()
    rows = np.arange(n)
    hidden, known = Hidden.drawn(s, luck, rows), Known.first(curves, n, density_ln)
    ends = Ends(np.zeros(n), np.zeros(n), np.zeros(n))
    own = hidden.own(s)
    ends.deflection[:] = own
    for stage in range(MOST_PASSES + 1):
        reading = np.maximum(hidden.read(own, luck.turn(stage, rows)), 1e-6)
        known.take_in(known.dial, np.log(reading), U_DIAL / reading)
        if stage == MOST_PASSES:
            break
        aim = next_aims(known, curves, window, root)
        on = np.flatnonzero(aim > 0)
        if not len(on):
            break
        rows, hidden, aim = rows[on], hidden.part(on), aim[on]
        known = known.part(on).carve(curves, aim)
        pan, off = hidden.carve(s, aim, density, luck.carve(stage, rows))
        own = hidden.own(s)
        ends.deflection[rows] = own
        ends.passes[rows] += 1
        ends.grams[rows] += off
        # an empty pan is not weighed: taken in with no weight
        known.take_in(known.pan, pan, np.where(pan > 0, U_SCALE, 1e6))
    return ends
