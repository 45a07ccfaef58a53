"""The rule over all braces at once, in numpy: a loop over passes and over steps of a root, none over braces.

All twelve unknowns go through every update. One pass ahead only the covariances that change with the aim are touched, the aim
at the target bounds the search for the deepest safe one, and braces that are done are dropped.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from .shop_side import (
    ALPHA,
    BEFORE,
    BIAS,
    DEN,
    DOUBT,
    DRIFT,
    DYN,
    ENOUGH,
    FAR,
    GIVE,
    GIVE_MEAN,
    HAND_PASSES,
    LAST,
    LOAD,
    LOST,
    MOD,
    MODEL,
    MOST_PASSES,
    MOST_SLIP,
    OUT_OF_REACH,
    RATIO,
    REST,
    SCATTER,
    SCATTER_MM,
    SHAVING,
    SPREAD,
    U_DIAL,
    U_SCALE,
    WEIGHTS,
    WET,
    WHOLE,
    Curves,
    Ends,
    Hidden,
    N,
    Part,
    Stations,
    grown,
)


@dataclass
class Known(Part):
    """What is known of every brace: means and covariances of the twelve, depths aimed at, the hand's scatter, and what the
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
        slope[:, WET] = 1
        alone = np.exp(ln + self.mean[:, WET])
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

    def take_in(self, expect, seen, u, relative=False):
        """The iterated update."""
        prior = self.mean.copy()
        sd = np.sqrt(np.maximum(np.diagonal(self.cov, axis1=1, axis2=2), 1e-300))
        for _ in range(8):
            expected, slope = expect()
            along = (self.cov @ slope[:, :, None])[:, :, 0]
            spread = np.einsum("ni,ni->n", slope, along) + (u / np.exp(expected) if relative else u) ** 2
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
        out.cov[:, MODEL, MODEL] += (DOUBT * (out.ln_own()[0] - was)) ** 2
        out.cov[:, WET, WET] += DRIFT**2
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
        most = MOST_SLIP * np.sqrt(hand2)
        slip, moved = np.zeros_like(aim), np.inf

        def line(slip):
            last = mean_last + slip
            g, by_e = grown(2 * growth * (before + last))
            plain = by0 * before + by1 * last
            more = 2 * growth * plain * by_e
            return base + plain * g, by1 * g + more, g, more

        # the slip that meets the limit is the same whatever the hand's scatter, but for how far it may go
        here, b1, g, more = line(slip)
        for _ in range(6):
            to = np.clip(slip + (limit - here) / np.maximum(b1, 1e-12), -most[2], most[2])
            moved = np.max(np.abs(to - slip) / np.maximum(most[2], 1e-12))
            slip = to
            here, b1, g, more = line(slip)
            if moved < 1e-4:
                break
        if np.any(np.abs(slip) > most[0]):
            slip = np.clip(slip, -most, most)
            here, b1, g, more = line(slip)
        b0 = by0 * g + more
        softer = DOUBT * (ln - self.was)
        a, b, h = self.a, self.b, self.h
        v = a[0] + softer * softer + ratio * (ratio * a[1] + 2 * a[2])
        v = v + b0 * (b0 * b[0] + 2 * (b[1] + ratio * b[2])) + b1 * b1 * hand2
        v += 2 * aim * b1 * (h[0] + ratio * h[1] + b0 * h[2])
        return WEIGHTS @ ndtr((here - slip * b1 - limit) / np.sqrt(v))


def standing(known, window):
    """Chances of being past the window and in it as it stands."""
    ln, slope = known.ln_own()
    sd = np.sqrt(np.einsum("ni,nij,nj->n", slope, known.cov, slope, optimize=True))
    over, low = (ndtr((ln - np.log(limit)) / sd) for limit in (window[2], window[0]))
    return over, low - over


def halved(f, ahead, low, high, f_low, f_high):
    """Where falling values cross zero, by as many halvings as a ten-millionth takes; f(ahead, aim)."""
    for _ in range(24):
        m = 0.5 * (low + high)
        up = f(ahead, m) >= 0
        low, high = np.where(up, m, low), np.where(up, high, m)
    return low


def false_position(f, ahead, low, high, f_low, f_high):
    """The same by false position, the stale end halved (Illinois), each brace left alone once it is found."""
    out, rows = np.empty(len(low)), np.arange(len(low))
    side, within, was = np.zeros(len(low)), 1e-7 * high, low
    for _ in range(60):
        x = (low * f_high - high * f_low) / (f_high - f_low)
        out[rows] = x
        on = np.flatnonzero((np.abs(x - was) >= within) & (high - low >= within))
        if not len(on):
            break
        if len(on) < 0.8 * len(rows):
            rows, ahead = rows[on], ahead.rows(on)
            x, low, high, f_low, f_high, side, within = (v[on] for v in (x, low, high, f_low, f_high, side, within))
        y = f(ahead, x)
        up = y >= 0
        f_high, f_low = np.where(up & (side > 0), 0.5 * f_high, f_high), np.where(~up & (side < 0), 0.5 * f_low, f_low)
        low, f_low = np.where(up, x, low), np.where(up, y, f_low)
        high, f_high = np.where(up, high, x), np.where(up, f_high, y)
        side, was = np.where(up, 1.0, -1.0), x
    return out


def greatest(f, ahead, end, root):
    """Greatest aim from 0 to `end` at which f is not below 0."""
    low = np.full(len(end), 1e-9)
    f_low, f_high = f(ahead, low), f(ahead, end)
    out = np.where(f_low < 0, 0.0, end)
    inside = np.flatnonzero((f_low >= 0) & (f_high < 0) & (end > 0))
    if len(inside):
        out[inside] = root(f, ahead.rows(inside), low[inside], end[inside], f_low[inside], f_high[inside])
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
        known.take_in(known.dial, np.log(reading), U_DIAL, relative=True)
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
