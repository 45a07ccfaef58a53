"""The same work for a person who compiles it: numba, all cores, what is constant taken out of the loops."""

import math

import numba as nb
import numpy as np

from .numpy_side import NODES, WEIGHTS, rise
from .scene import CAP_RISE_MM, E_OVER_G, SHEAR, SPAN_MM

RISE = rise(NODES)


@nb.njit(inline="always")
def height(x, level, floor_at, rise_at, half, top, floor, second, end):
    if x <= level:
        return top
    if x < floor_at:
        return top - (top - floor) * (0.5 - 0.5 * math.cos(math.pi * (x - level) / (floor_at - level)))
    if x < rise_at:
        return floor + (second - floor) * (0.5 - 0.5 * math.cos(math.pi * (x - floor_at) / (rise_at - floor_at)))
    return second - (second - end) * (x - rise_at) / (half - rise_at)


@nb.njit(parallel=True, fastmath=True)
def along_many(table, capped, area, inertia, stiffness, mass):
    n, m = area.shape
    for i in nb.prange(n):
        half, level, floor_at, rise_at, top, floor, second, end, w, e, density = table[i]
        dx = 2 * half / (m - 1)
        total = 0.0
        for j in range(m):
            h = height(abs(j * dx - half), level, floor_at, rise_at, half, top, floor, second, end)
            if capped:
                c = min(h, CAP_RISE_MM)
                b = h - c
                below, above = w * b, 0.5 * w * c
                a = below + above
                up = b + c / 3.0
                z = (0.5 * below * b + above * up) / a
                q = w / 12.0 * b * b * b + below * (z - 0.5 * b) ** 2 + w / 36.0 * c * c * c + above * (up - z) ** 2
            else:
                a = w * h
                q = w / 12.0 * h * h * h
            area[i, j] = a
            inertia[i, j] = q
            stiffness[i, j] = e * q
            total += a if 0 < j < m - 1 else 0.5 * a
        mass[i] = density * total * dx


@nb.njit(parallel=True, fastmath=True)
def three_point_many(table, nodes, weights, constant, out):
    """Cosines at the Gauss places are constants; the level middle is a closed form."""
    n = table.shape[0]
    reach = 0.5 * SPAN_MM
    for i in nb.prange(n):
        half, level, floor_at, rise_at, top, floor, second, end, w, e, _ = table[i]
        fall = (second - end) / (half - rise_at)
        q = 1.0 / top
        total = 4.0 * (reach**3 - (reach - level) ** 3) * q * q * q + SHEAR * E_OVER_G * q * level
        a = b = c = 0.0
        for k in range(nodes.size):
            q = 1.0 / (top - (top - floor) * constant[k])
            d = reach - level - (floor_at - level) * nodes[k]
            a += weights[k] * q * (12.0 * d * d * q * q + SHEAR * E_OVER_G)
            q = 1.0 / (floor + (second - floor) * constant[k])
            d = reach - floor_at - (rise_at - floor_at) * nodes[k]
            b += weights[k] * q * (12.0 * d * d * q * q + SHEAR * E_OVER_G)
            past = (reach - rise_at) * nodes[k]
            q = 1.0 / (second - fall * past)
            d = reach - rise_at - past
            c += weights[k] * q * (12.0 * d * d * q * q + SHEAR * E_OVER_G)
        out[i] = (total + a * (floor_at - level) + b * (rise_at - floor_at) + c * (reach - rise_at)) / (2.0 * e * w)


def three_point(table, out):
    three_point_many(table, NODES, WEIGHTS, RISE, out)
    return out


@nb.njit(parallel=True, fastmath=True)
def passes_many(table, stations, blank, allowance, depth, count, grams, stiffness):
    first, last = stations // 20, stations - stations // 20 - 1
    for i in nb.prange(table.shape[0]):
        half, level, floor_at, rise_at, top, floor, second, end, w, e, density = table[i]
        dx = 2 * half / (stations - 1)
        volume = np.zeros(count + 1)
        give = np.zeros(count + 1)
        for j in range(stations):
            x = abs(j * dx - half)
            shape = height(x, level, floor_at, rise_at, half, top, floor, second, end)
            h = min(blank, shape + allowance)
            trapezoid = 0.5 if j == 0 or j == stations - 1 else 1.0
            simpson = 0.0
            if first <= j <= last:
                simpson = 1.0 if j == first or j == last else (4.0 if (j - first) % 2 else 2.0)
            d = 0.9 * half - x
            for k in range(count + 1):
                if k:
                    h = max(shape, h - depth)
                volume[k] += trapezoid * h
                q = 1.0 / h
                give[k] += simpson * (3.0 * d * d * q * q * q + 0.25 * SHEAR * E_OVER_G * q)
        for k in range(count + 1):
            stiffness[i, k] = 3.0 * e * w / (dx * give[k])
            if k:
                grams[i, k - 1] = (volume[k - 1] - volume[k]) * w * dx * density
