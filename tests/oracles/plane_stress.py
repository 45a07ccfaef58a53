"""Plane-stress elasticity of a brace seen from the side, by scikit-fem: the tests' own answer.

Quadratic quadrilaterals (displacement and geometry) on a mesh that follows the outline: element lines at every kink, at
load and support edges and along the base of a cap. The width enters as a weight on stiffness, mass and body force, so
stresses across the brace are taken as zero. Units: mm, N, MPa, t/mm3 inside (kg/m3 outside), Hz.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import LinearOperator, eigsh, splu
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, FacetBasis, LinearForm, MeshQuad, MeshQuad2

from .shapes import Array, Curve, Section, crossings, curve, section

ELEMENT = ElementVector(ElementQuad2())


def elasticity(material: dict) -> Array:
    """3 x 3 plane-stress stiffness (x along the grain, z up, shear) from moduli in MPa, or ``full_mpa`` as given."""
    if "full_mpa" in material:
        return np.asarray(material["full_mpa"], float)
    ex, ez, g, nu = (material[k] for k in ("e_x_mpa", "e_z_mpa", "g_xz_mpa", "nu_xz"))
    return np.linalg.inv(np.array([[1 / ex, -nu / ex, 0.0], [-nu / ex, 1 / ez, 0.0], [0.0, 0.0, 1 / g]]))


def _graded(marks: list[float], singular: list[float], size: float, finest: float) -> Array:
    """Grid through all marks, steps near ``size``, halving towards singular places down to ``finest``."""
    marks = sorted(set(np.round(marks, 9)))
    out: list[float] = [marks[0]]
    for a, b in pairwise(marks):
        n = max(1, int(np.ceil((b - a) / size - 1e-9)))
        inner = list(np.linspace(a, b, n + 1))
        step, extra = (b - a) / n, []
        for end, sign in ((a, 1.0), (b, -1.0)):
            if any(abs(end - s) < 1e-7 for s in singular):
                d = step / 2 if n > 1 else step / 3
                while d > finest:
                    extra.append(end + sign * d)
                    d /= 2
        out += sorted([*inner[1:], *extra])
    return np.asarray(out)


def strips(spec: dict) -> list[float]:
    """Thicknesses of the strips glued over notches."""
    return sorted({n["strip_mm"] for n in spec.get("notches", []) if n.get("strip_mm")})


def in_notch(n: dict, x: Array, z: Array) -> Array:
    """Whether points, z from the glue face, lie where the notch was cut."""
    return (x > n["start_mm"]) & (x < n["end_mm"]) & ((z < n["to_mm"]) if n["face"] == "glue" else (z > n["to_mm"]))


@dataclass
class Model:
    """One mesh of one case, with what is needed to load, support and read it."""

    spec: dict
    height: Curve
    base: Curve
    section: Section
    flat: MeshQuad2  # the mesh before mapping: x and layer coordinate t
    mesh: MeshQuad2
    layers: int

    def lines(self, x: Array) -> Array:
        """Heights z of the layer lines at x, lowest first."""
        b, h = self.base.at(x), self.height.at(x)
        cuts = [n["to_mm"] for n in self.spec.get("notches", [])]
        inner = [self.section.line(h)] if self.section.line else [np.full_like(x, c) for c in sorted(set(cuts))]
        strip = [b + h + t for t in strips(self.spec)]
        return np.stack([b, *(b + z for z in inner), b + h, *strip])

    def to_z(self, x: Array, t: Array) -> Array:
        lines = self.lines(x)
        k = np.clip(np.floor(t).astype(int), 0, self.layers - 1)
        i = np.arange(len(x))
        return lines[k, i] + (lines[k + 1, i] - lines[k, i]) * (t - k)

    def to_t(self, x: float, z: float) -> float:
        lines = self.lines(np.array([x]))[:, 0]
        return float(np.interp(z, lines, np.arange(self.layers + 1)))

    def width(self, x: Array, z: Array) -> Array:
        shape = x.shape
        x, z = x.ravel(), z.ravel()
        return self.section.width(z - self.base.at(x), self.height.at(x)).reshape(shape)


def build(spec: dict, level: int) -> Model:
    """Mesh of a case; each level halves every element of the one before."""
    length = float(spec["length_mm"])
    height, sec = curve(spec["height"]), section(spec["section"])
    base = curve(spec.get("base", {"kind": "flat", "h_mm": 0.0}))
    mesh_spec = spec.get("mesh", {})
    size, per_layer = mesh_spec.get("size_mm", 2.5), mesh_spec.get("through_height", 4)
    finest = mesh_spec.get("finest_mm", 0.02)
    marks = [0.0, length, *height.breaks_mm, *base.breaks_mm]
    marks += [e for load in spec.get("loads", []) for e in (load["from_mm"], load["to_mm"])]
    supports = spec["supports"]
    if supports["kind"] == "pads":
        marks += [s + d * supports["pad_mm"] / 2 for s in supports["at_mm"] for d in (-1, 1)]
    if sec.rise_mm is not None:
        marks += [x for v in (sec.rise_mm, sec.rise_mm / 0.98) for x in crossings(height, v, length)]
    notches = spec.get("notches", [])
    singular_x = [e for n in notches for e in (n["start_mm"], n["end_mm"])]
    marks += singular_x
    if supports["kind"] == "clamped-left":
        singular_x.append(0.0)
    layers = (2 if (notches or sec.line) else 1) + len(strips(spec))
    singular_t = [0.0, float(layers)] if supports["kind"] == "clamped-left" else []
    if notches:
        singular_t = [float(k) for k in range(1, layers)]
    marks = [m for m in marks if -1e-9 <= m <= length + 1e-9]
    xs = _graded(marks, singular_x, size, finest)
    # the layer coordinate is in layers, so a finest step in mm becomes a part of a layer about 8 to 16 mm high
    ts = _graded(list(map(float, range(layers + 1))), singular_t, 1.0 / per_layer, finest / 8.0)
    if "crest_power" in mesh_spec:  # thinner elements towards the crest of the last layer
        s = ts - (layers - 1.0)
        ts = np.where(s > 0.0, layers - np.clip(1.0 - s, 0.0, 1.0) ** mesh_spec["crest_power"], ts)
    for _ in range(level):
        xs = np.sort(np.concatenate([xs, 0.5 * (xs[1:] + xs[:-1])]))
        ts = np.sort(np.concatenate([ts, 0.5 * (ts[1:] + ts[:-1])]))
    grid = MeshQuad.init_tensor(xs, ts)
    mid = grid.p[:, grid.t].mean(axis=1)
    gone = np.zeros(grid.t.shape[1], bool)
    for n in notches:
        inside = (mid[0] > n["start_mm"]) & (mid[0] < n["end_mm"])
        if not n.get("filled"):
            gone |= inside & ((mid[1] < 1.0) if n["face"] == "glue" else ((mid[1] > 1.0) & (mid[1] < 2.0)))
        if strips(spec):
            gone |= ~inside & (mid[1] > 2.0)
    if gone.any():
        grid = grid.remove_elements(np.nonzero(gone)[0])
    flat = MeshQuad2.from_mesh(grid)
    model = Model(spec, height, base, sec, flat, flat, layers)
    z = model.to_z(flat.doflocs[0], flat.doflocs[1])
    model.mesh = MeshQuad2(np.stack([flat.doflocs[0], z]), flat.t)
    return model


class Solver:
    """Assembled stiffness of a model; ``run`` gives every output its case asks for."""

    def __init__(self, model: Model, order: int = 6):
        self.model, self.spec = model, model.spec
        self.basis = Basis(model.mesh, ELEMENT, intorder=order)
        own = elasticity(self.spec["material"])
        filled = [n for n in self.spec.get("notches", []) if n.get("filled")]

        @BilinearForm
        def stiffness(u, v, w):
            d = own
            if filled:
                up = w.x[1] - model.base.at(w.x[0])
                filler = np.any([in_notch(n, w.x[0], up) for n in filled], axis=0)
                filler &= up < model.height.at(w.x[0])
                other = elasticity(self.spec["filler"])
                d = np.where(filler, other[:, :, None, None], own[:, :, None, None])
            ex, ez, g = u.grad[0, 0], u.grad[1, 1], u.grad[0, 1] + u.grad[1, 0]
            b = model.width(w.x[0], w.x[1])
            sx, sz, t = (b * (d[i, 0] * ex + d[i, 1] * ez + d[i, 2] * g) for i in range(3))
            return sx * v.grad[0, 0] + sz * v.grad[1, 1] + t * (v.grad[0, 1] + v.grad[1, 0])

        self.stiffness = stiffness.assemble(self.basis).tocsc()
        self.x_of, self.z_of = self.basis.doflocs
        # scikit-fem numbers the two components of a node in turn, nodes first, then facets, then interiors
        self.is_z = np.zeros(self.basis.N, bool)
        for rows in (self.basis.nodal_dofs, self.basis.facet_dofs, self.basis.interior_dofs):
            self.is_z[rows[1]] = True

    def facets(self, where: str, a: float = 0.0, b: float = 0.0) -> Array:
        """Boundary facets of the crest or glue face between a and b, or of an end face."""
        flat, length, top = self.model.flat, self.spec["length_mm"], float(self.model.layers)
        tests = {
            "crest": lambda p: (np.abs(p[1] - top) < 1e-9) & (p[0] > a) & (p[0] < b),
            "glue": lambda p: (np.abs(p[1]) < 1e-9) & (p[0] > a) & (p[0] < b),
            "left": lambda p: np.abs(p[0]) < 1e-9,
            "right": lambda p: np.abs(p[0] - length) < 1e-9,
        }
        return flat.facets_satisfying(tests[where], boundaries_only=True)

    def _face_mean(self, where: str, a: float, b: float) -> Array:
        """Vector whose product with u is the mean u_z over a face, per projected length."""
        fb = FacetBasis(self.model.mesh, ELEMENT, facets=self.facets(where, a, b), intorder=6)
        form = LinearForm(lambda v, w: v[1] * np.abs(w.n[1]))
        return form.assemble(fb) / (b - a)

    def _load(self, load: dict) -> Array:
        a, b, force = load["from_mm"], load["to_mm"], load["force_n"]
        if load["kind"] in ("crest", "glue"):
            return -force * self._face_mean(load["kind"], a, b)
        mid = self.model.flat.p[0, self.model.flat.t[:4]].mean(axis=0)
        slab = Basis(self.model.mesh, ELEMENT, intorder=6, elements=np.nonzero((mid > a) & (mid < b))[0])
        f = LinearForm(lambda v, w: -v[1] * self.model.width(w.x[0], w.x[1])).assemble(slab)
        volume = -f[self.is_z].sum()
        return force / volume * f

    def _couple(self, moment: float) -> Array:
        """Linear end stresses of a sagging moment: compression at the crest."""
        out = np.zeros(self.basis.N)
        for where, sign in (("left", -1.0), ("right", 1.0)):
            fb = FacetBasis(self.model.mesh, ELEMENT, facets=self.facets(where), intorder=8)
            z, dx = np.asarray(fb.global_coordinates())[1], fb.dx
            b = self.model.width(np.asarray(fb.global_coordinates())[0], z) * dx
            zc = (b * z).sum() / b.sum()
            second = (b * (z - zc) ** 2).sum()

            def form(v, w, sign=sign, zc=zc, second=second):
                return -sign * moment * (w.x[1] - zc) / second * self.model.width(w.x[0], w.x[1]) * v[0]

            out += LinearForm(form).assemble(fb)
        return out

    def _solve(self, f: Array, fixed: Array) -> Array:
        free = np.setdiff1d(np.arange(self.basis.N), fixed)
        k = self.stiffness[free][:, free]
        lu = splu(k, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        u = np.zeros(self.basis.N)
        u[free] = lu.solve(f[free])
        u[free] += lu.solve(f[free] - k @ u[free])
        return u

    def _pins(self) -> Array:
        """Three degrees of freedom at the ends of the glue face that stop rigid motion of a self-balanced case."""
        length = self.spec["length_mm"]
        low = np.abs(self.z_of - self.model.base.at(self.x_of)) < 1e-6
        at0, at1 = low & (np.abs(self.x_of) < 1e-9), low & (np.abs(self.x_of - length) < 1e-9)
        return np.concatenate([np.nonzero(at0)[0], np.nonzero(at1 & self.is_z)[0]])

    def static(self) -> tuple[Array, list[tuple[float, float]]]:
        """Displacement under the case's loads, and the supports' mean sink as (x, u_z) pairs to read against."""
        supports, spec = self.spec["supports"], self.spec
        f = sum((self._load(load) for load in spec.get("loads", [])), np.zeros(self.basis.N))
        if "end_couple_nmm" in spec:
            f = f + self._couple(spec["end_couple_nmm"])
        length = spec["length_mm"]
        ends = (np.abs(self.x_of) < 1e-9, np.abs(self.x_of - length) < 1e-9)
        if supports["kind"] == "clamped-left":
            return self._solve(f, np.nonzero(ends[0])[0]), []
        if supports["kind"] == "ends":
            held = (ends[0] | ends[1]) & self.is_z
            middle = np.argmin(np.where(ends[0] & ~self.is_z, np.abs(self.z_of - self._mid(0.0)), np.inf))
            return self._solve(f, np.append(np.nonzero(held)[0], middle)), []
        if supports["kind"] == "free":
            u = self._solve(f, self._pins())
            return u, [(x, self.value(u, x, self._mid(x))[1]) for x in (0.0, length)]
        s0, s1 = supports["at_mm"]
        half = supports["pad_mm"] / 2
        pads = [self._face_mean("glue", s - half, s + half) for s in (s0, s1)]
        down = f[self.is_z].sum()
        turn = (f * self.x_of)[self.is_z].sum()
        r1 = -(turn - s0 * down) / (s1 - s0)
        f = f + (-down - r1) * pads[0] + r1 * pads[1]
        u = self._solve(f, self._pins())
        return u, [(s, float(p @ u)) for s, p in zip((s0, s1), pads, strict=True)]

    def _mid(self, x: float) -> float:
        at = np.array([x])
        return float(self.model.base.at(at)[0] + 0.5 * self.model.height.at(at)[0])

    def _at(self, elements: Array, local: Array) -> Basis:
        """Basis at chosen local points of chosen elements."""
        rule = (local, np.ones(local.shape[1]))
        return Basis(
            self.model.mesh, ELEMENT, self.basis.mapping, quadrature=rule, elements=elements, dofs=self.basis.dofs
        )

    def value(self, u: Array, x: float, z: float) -> Array:
        """Displacement (u_x, u_z) at a point."""
        point = np.array([x, self.model.to_t(x, z)])
        corners = self.model.flat.p[:, self.model.flat.t[:4]]
        inside = (corners.min(axis=1) <= point[:, None] + 1e-9) & (corners.max(axis=1) >= point[:, None] - 1e-9)
        e = np.nonzero(inside.all(axis=0))[0][:1]
        p0, p1, p3 = (corners[:, i, e[0]] for i in (0, 1, 3))
        local = np.linalg.solve(np.column_stack([p1 - p0, p3 - p0]), point - p0)
        at = self._at(e, local[:, None])
        if not np.allclose(np.asarray(at.global_coordinates())[:, 0, 0], (x, z), atol=1e-6):
            raise ValueError(f"no wood at x = {x} mm, z = {z} mm")
        return np.asarray(at.interpolate(u))[:, 0, 0]

    def rotation(self, u: Array, x: float) -> float:
        """Turn of the section at x: minus the slope over z of the line fitted to u_x, weighted by area."""
        corners = self.model.flat.p[:, self.model.flat.t[:4]]
        low, high = corners[0].min(axis=0), corners[0].max(axis=0)
        column = np.nonzero((low <= x - 1e-9) & (high >= x - 1e-9))[0]
        if not len(column):
            column = np.nonzero((low <= x + 1e-9) & (high >= x - 1e-9))[0]
        g, wg = np.polynomial.legendre.leggauss(6)
        g, e = 0.5 * (1.0 + g), column[0]
        across = (x - corners[0, 0, e]) / (corners[0, :, e] - corners[0, 0, e])[[1, 3]].sum()
        along_first = abs(corners[0, 1, e] - corners[0, 0, e]) > 1e-12
        pair = (np.full(6, across), g) if along_first else (g, np.full(6, across))
        at = self._at(column, np.stack(pair))
        xs, z = np.asarray(at.global_coordinates())
        if not np.allclose(xs, x, atol=1e-8):
            raise ValueError("the elements of a column do not share their orientation")
        w = 0.5 * wg * np.abs(z[:, -1:] - z[:, :1]) / (g[-1] - g[0]) * self.model.width(xs, z)
        zc = (w * z).sum() / w.sum()
        return float(-(w * np.asarray(at.interpolate(u))[0] * (z - zc)).sum() / (w * (z - zc) ** 2).sum())

    def frequencies(self, count: int) -> list[float]:
        """Lowest bending frequencies of the free brace, Hz; rigid and lengthwise modes left out."""
        rho = self.spec["density_kg_m3"] * 1e-12
        mass = BilinearForm(lambda u, v, w: rho * self.model.width(w.x[0], w.x[1]) * (u[0] * v[0] + u[1] * v[1]))
        m = mass.assemble(self.basis).tocsc()
        shift = -((2 * np.pi * 100.0) ** 2)
        lu = splu(
            sp.csc_matrix(self.stiffness - shift * m),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        inverse = LinearOperator(m.shape, matvec=lu.solve, dtype=float)
        start = np.random.default_rng(1).standard_normal(m.shape[0])
        values, modes = eigsh(self.stiffness, k=count + 5, M=m, sigma=shift, OPinv=inverse, v0=start, tol=1e-11)
        out = []
        for value, mode in sorted(zip(values, modes.T, strict=True), key=lambda p: p[0]):
            hz = np.sqrt(max(value, 0.0)) / (2 * np.pi)
            upright = mode * self.is_z
            if hz > 1.0 and upright @ (m @ upright) > 0.5 * (mode @ (m @ mode)):
                out.append(float(hz))
        return out[:count]

    def run(self) -> dict[str, list[float]]:
        """Every output of the case: deflections (mm, down positive), rotations (rad), frequencies (Hz)."""
        spec, out = self.spec, {}
        if "frequencies" in spec:
            out["frequencies_hz"] = self.frequencies(spec["frequencies"])
            return out
        u, against = self.static()
        if spec.get("read"):
            out["deflections_mm"] = []
        for point in spec.get("read", []):
            x, base = point["x_mm"], float(self.model.base.at(np.array([point["x_mm"]]))[0])
            top = base + float(self.model.height.at(np.array([x]))[0])
            z = {"mid-height": 0.5 * (base + top), "crest": top, "glue": base}[point["where"]]
            sink = 0.0
            if against:
                (s0, w0), (s1, w1) = against
                sink = w0 + (w1 - w0) * (x - s0) / (s1 - s0)
            out["deflections_mm"].append(float(sink - self.value(u, x, z)[1]))
        if "stations_mm" in spec:
            turn = np.array([self.rotation(u, x) for x in spec["stations_mm"]])
            out["rotations_rad"] = [float(r) for r in turn - turn[0]]
        return out


def solve(spec: dict, levels: tuple[int, ...] = (0, 1, 2)) -> dict:
    """Solve on nested meshes; the last one's values and the largest relative change from the one before, per output."""
    runs, unknowns = [], []
    for level in levels:
        solver = Solver(build(spec, level))
        runs.append(solver.run())
        unknowns.append(int(solver.basis.N))
    last, error = runs[-1], {}
    for key, values in last.items():
        scale = np.max(np.abs(values)) if key == "rotations_rad" else np.abs(values)
        error[key] = float(np.max(np.abs(np.array(values) - runs[-2][key]) / scale)) if len(runs) > 1 else float("nan")
    return {"values": last, "mesh_error_rel": error, "by_mesh": runs, "unknowns": unknowns}
