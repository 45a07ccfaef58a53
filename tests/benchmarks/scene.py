"""The brace all races are about: level in the middle, a half-cosine hollow each side, a second rise, straight ends.

Distances are from the middle, mm; heights mm; E in MPa; density in g/mm3.
"""

from dataclasses import dataclass

import bracewright as bw
import numpy as np

BLENDS = ["straight", "cosine", "cosine", "straight"]
CAP_RISE_MM = 6.0
SPAN_MM = 380.0
E_OVER_G = 15.0
SHEAR = 1.2
STATIONS = 2001


@dataclass(frozen=True)
class Shapes:
    """One brace or many: every field an (n, 1) column."""

    half: np.ndarray  # half the length
    level: np.ndarray  # end of the level middle
    floor_at: np.ndarray
    rise_at: np.ndarray
    top: np.ndarray
    floor: np.ndarray
    second: np.ndarray
    end: np.ndarray
    width: np.ndarray
    e: np.ndarray
    density: np.ndarray

    def part(self, rows):
        return Shapes(*(v[rows] for v in vars(self).values()))

    def with_floor(self, floor):
        return Shapes(**{**vars(self), "floor": floor})

    def table(self):
        return np.column_stack(list(vars(self).values()))

    def points(self):
        """Places and heights as the library takes them."""
        at = np.column_stack([0 * self.half, self.level, self.floor_at, self.rise_at, self.half])
        return at, np.column_stack([self.top, self.top, self.floor, self.second, self.end])


def one():
    return Shapes(*(np.array([[v]]) for v in (210.0, 20.0, 100.0, 150.0, 16.0, 8.0, 12.0, 2.0, 8.0, 12000.0, 420e-6)))


def many(n, seed):
    rng = np.random.default_rng(seed)
    places = [(200, 220), (10, 30), (90, 110), (140, 165)]
    ranges = [*places, (14, 17), (6, 9), (10, 13), (1.5, 3), (7, 9), (9e3, 15e3), (380e-6, 480e-6)]
    return Shapes(*(rng.uniform(*r, (n, 1)) for r in ranges))


def lot(shapes, section=None):
    at, height = shapes.points()
    return bw.Lot.through(
        at_mm=at,
        height_mm=height,
        blend=BLENDS,
        mirrored=True,
        width_mm=shapes.width[:, 0],
        modulus_gpa=shapes.e[:, 0] / 1000,
        density_kg_m3=shapes.density[:, 0] * 1e6,
        section=section,
        shear_ratio=1 / E_OVER_G,
    )


def brace(section=None):
    """The one brace; its wood has the same E and E/G."""
    s = one()
    profile = lot(s).profile(0)
    wood = bw.Wood.published("Sitka spruce").with_modulus_l_gpa(12.0).with_value("glt_el", 1 / E_OVER_G, source="the race")
    blank = bw.Blank(wood, length_mm=420.0, width_mm=8.0, height_mm=17.0).with_modulus(12.0, modulus_spread=0.1)
    return bw.Brace(blank, profile, section)
