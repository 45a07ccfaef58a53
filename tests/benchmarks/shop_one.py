"""The rule a brace at a time, as one writes it down with numpy and scipy: a state of twelve, its covariance, and brentq."""

import math

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from . import shop_side as side
from .shop_side import BEFORE, BIAS, DEN, DYN, GIVE, LAST, LOST, MOD, MODEL, RATIO, REST, WET, N

LN_LOAD = math.log(side.LOAD)


class Plan:
    """The curves, read for one depth; plain lists are the quickest to read single figures from."""

    def __init__(self, curves):
        self.over_depth, self.slip = curves.over_depth.tolist(), curves.slip.tolist()
        self.fine, self.coarse = curves.FINE / side.WHOLE, curves.COARSE / side.WHOLE

    def at(self, depth):
        u = min(max(depth, 0.0) * self.fine, len(self.over_depth) - 1.000001)
        i = int(u)
        u -= i
        return [a + u * (b - a) for a, b in zip(self.over_depth[i], self.over_depth[i + 1], strict=True)]

    def layers(self, start, end, at):
        end = max(end, 1e-3)
        start = min(start, end - 1e-3)
        last = len(self.slip) - 1.000001
        u = min(at * self.coarse, last)
        i = int(u)
        u -= i
        low, high = self.slip[i], self.slip[i + 1]

        def value(d):
            v = min(max(d, 0.0) * self.coarse, last)
            j = int(v)
            v -= j
            near = low[j] + v * (low[j + 1] - low[j])
            return near + u * (high[j] + v * (high[j + 1] - high[j]) - near)

        return (value(end) - value(start)) / (end - start)


class Known:
    """What is known of one brace."""

    def __init__(self, plan, density_ln):
        self.plan = plan
        self.mean, self.cov = np.zeros(N), np.zeros((N, N))
        self.mean[[GIVE, BIAS, LOST, DYN]] = side.GIVE_MEAN, 0.05, 0.03, math.log(1.065)
        for i, sd in {**side.SPREAD, DEN: density_ln}.items():
            self.cov[i, i] = sd * sd
        self.start = self.end = 0.0
        self.squared, self.passes = 1.0, side.HAND_PASSES
        self.look_up()

    def copy(self):
        out = object.__new__(Known)
        out.__dict__.update(self.__dict__)
        out.mean, out.cov = self.mean.copy(), self.cov.copy()
        return out

    def look_up(self):
        self.curve = self.plan.at(self.end)
        self.by_before = self.plan.layers(0.0, self.start, self.end)
        self.by_last = self.plan.layers(self.start, self.end, self.end)

    def ln_own(self, x):
        """ln of the brace's own deflection, and its slopes."""
        p0, p1, p2, _, growth = self.curve
        before, last, ratio = float(x[BEFORE]), float(x[LAST]), float(x[RATIO])
        e = 2 * growth * (before + last)
        if abs(e) < 1e-3:
            g, by_e = 1 + 0.5 * e, 0.5
        else:
            g = math.expm1(e) / e
            by_e = (g * (e - 1) + 1) / e
        plain = self.by_before * before + self.by_last * last
        more = 2 * growth * plain * by_e
        slope = np.zeros(N)
        slope[MOD], slope[MODEL], slope[RATIO] = -1.0, 1.0, p1 + 2 * ratio * p2
        slope[BEFORE], slope[LAST] = self.by_before * g + more, self.by_last * g + more
        return LN_LOAD + p0 + ratio * (p1 + ratio * p2) + plain * g - x[MOD] + x[MODEL], slope

    def dial(self, x):
        ln, slope = self.ln_own(x)
        slope[WET] = 1.0
        alone = math.exp(ln + x[WET])
        share = 1 / (1 + alone / side.LOAD * max(x[REST], 0.0))
        own = alone * share
        slope *= own * share
        slope[REST], slope[GIVE] = -own * share * alone / side.LOAD, side.LOAD
        value = own + side.LOAD * max(x[GIVE], 0.0)
        return math.log(value), slope / value

    def pan(self, x):
        aimed = self.plan.at(self.start)[3] - self.curve[3]
        per_mm = aimed / max(self.end - self.start, 1e-3)
        density, kept = math.exp(x[DEN]), 1 - x[LOST]
        off = density * (aimed + per_mm * x[LAST])
        slope = np.zeros(N)
        slope[DEN], slope[LOST], slope[LAST] = kept * off, -off, kept * density * per_mm
        return kept * off, slope

    def take_in(self, expect, seen, u, relative=False):
        prior = x = self.mean
        sd = np.sqrt(np.maximum(np.diag(self.cov), 1e-300))
        for _ in range(8):
            expected, slope = expect(x)
            along = self.cov @ slope
            spread = slope @ along + (u / math.exp(expected) if relative else u) ** 2
            gain = along / spread
            to = prior + gain * (seen - expected - slope @ (prior - x))
            moved = np.max(np.abs(to - x) / sd)
            x = to
            if moved < 1e-9:
                break
        self.mean = x
        self.cov = self.cov - spread * np.outer(gain, gain)
        x[LOST] = min(max(x[LOST], 0.0), 0.9)

    def believed_scatter(self, aim):
        return (side.SCATTER * aim) ** 2 + side.SCATTER_MM**2 if aim > 0 else 0.0

    def carve(self, aim):
        x, c = self.mean, self.cov
        was = self.ln_own(x)[0]
        last = self.end - self.start
        believed = self.believed_scatter(last)
        if believed > 0:
            off = x[LAST] - last * x[BIAS]
            left = c[LAST, LAST] - 2 * last * c[LAST, BIAS] + last * last * c[BIAS, BIAS]
            known = min(max(1 - left / (self.squared * believed), 0.0), 1.0)
            if known >= 0.05:
                self.squared = (self.passes * self.squared + off * off / believed) / (self.passes + known)
                self.passes += known
        x[BEFORE] += x[LAST]
        c[BEFORE] += c[LAST]
        c[:, BEFORE] += c[:, LAST]
        self.start, self.end = self.end, self.end + aim
        x[LAST] = aim * x[BIAS]
        c[LAST] = aim * c[BIAS]
        c[:, LAST] = aim * c[:, BIAS]
        c[LAST, LAST] = aim * aim * c[BIAS, BIAS] + self.squared * self.believed_scatter(aim)
        self.look_up()
        c[MODEL, MODEL] += (side.DOUBT * (self.ln_own(x)[0] - was)) ** 2
        c[WET, WET] += side.DRIFT**2

    def ahead(self, aim):
        after = self.copy()
        after.carve(aim)
        return after

    def past(self, aim, limit):
        """Chance of being past a limit after a pass with this aim (0: as it stands)."""
        if aim <= 0:
            ln, slope = self.ln_own(self.mean)
            return ndtr((ln - limit) / math.sqrt(slope @ self.cov @ slope))
        after = self.ahead(aim)
        whole, scatter = after.cov[LAST, LAST], after.squared * after.believed_scatter(aim)
        n = after.passes
        far = math.sqrt(3 * (2 / n + 2 / (n * n)))
        chance = 0.0
        for weight, z in zip(side.WEIGHTS, (-far, 0.0, far), strict=True):
            after.cov[LAST, LAST] = whole + (math.exp(1 / n + z) - 1) * scatter
            over, sd = after.at_the_limit(limit)
            chance += weight * ndtr(over / sd)
        return chance

    def at_the_limit(self, limit):
        hand = math.sqrt(max(self.cov[LAST, LAST], 0.0))
        x = self.mean.copy()
        t = 0.0
        ln, slope = self.ln_own(x)
        for _ in range(6):
            by_hand = hand * slope[LAST]
            if by_hand <= 1e-12:
                break
            was, t = t, min(max(t + (limit - ln) / by_hand, -side.MOST_SLIP), side.MOST_SLIP)
            x[LAST] = self.mean[LAST] + t * hand
            ln, slope = self.ln_own(x)
            if abs(t - was) < 1e-3:
                break
        return ln - t * hand * slope[LAST] - limit, math.sqrt(slope @ self.cov @ slope)

    def next(self, window):
        """Depth to aim at; 0 to stop."""
        low, target, high = (math.log(v) for v in window)
        over, below = self.past(0.0, high), self.past(0.0, low)
        if over > 0.5 or below - over >= side.ENOUGH:
            return 0.0
        depth = self.end + self.mean[BEFORE] + self.mean[LAST]
        further = min((side.WHOLE - depth) / max(1 + self.mean[BIAS], 0.1), side.WHOLE - self.end)

        def short(aim):
            after = self.ahead(aim)
            return target - after.ln_own(after.mean)[0]

        straight = greatest(short, further)
        aim = min(straight, greatest(lambda aim: side.ALPHA - self.past(aim, high), further))
        if aim >= further and self.past(further, low) < side.OUT_OF_REACH:
            return 0.0
        return aim if aim >= side.SHAVING else 0.0


def greatest(room, end):
    if end <= 0 or room(1e-9) < 0:
        return 0.0
    return end if room(end) >= 0 else brentq(room, 1e-9, end, xtol=1e-7 * end)


def policy(curves, window, density_ln):
    """A policy for the library's own shop: the rule here, on everything that shop has shown of the brace."""
    plan = Plan(curves)

    def maker(turns):
        known = Known(plan, density_ln)
        for k, turn in enumerate(turns):
            if k:
                known.carve(turn.aimed_mm)
                see_pan(known, turn.shavings_g)
            see_dial(known, turn.reading_mm, turn.u_mm)
        aim = known.next(window)
        return aim if aim > 0 else None

    return maker


def see_dial(known, reading, u):
    known.take_in(known.dial, math.log(reading), u, relative=True)


def see_pan(known, grams):
    if grams > 0:
        known.take_in(known.pan, grams, side.U_SCALE)


def shop(n, window, curves, s, luck, *, density_ln):
    """The shop, one brace after the other, on curves and stations that are there already."""
    plan = Plan(curves)
    ends = side.Ends(np.zeros(n), np.zeros(n), np.zeros(n))
    for i in range(n):
        row = np.array([i])
        hidden, known = side.Hidden.drawn(s, luck, row), Known(plan, density_ln)
        own = hidden.own(s)
        for stage in range(side.MOST_PASSES + 1):
            see_dial(known, max(float(hidden.read(own, luck.turn(stage, row))[0]), 1e-6), side.U_DIAL)
            aim = known.next(window) if stage < side.MOST_PASSES else 0.0
            if aim <= 0:
                break
            known.carve(aim)
            pan, off = hidden.carve(s, np.array([aim]), curves.density, luck.carve(stage, row))
            see_pan(known, float(pan[0]))
            own = hidden.own(s)
            ends.passes[i] += 1
            ends.grams[i] += off[0]
        ends.deflection[i] = own[0]
    return ends
