"""A plate with two ribs that cross at right angles, as a solid: 27-node bricks (scikit-fem), SuperLU (scipy). Nothing of the
library is in it.

One rib runs along x, one along y, both middles at the origin; the plate reaches as far on either side. All is alike about both
axes, so a quarter is solved, with the symmetry each load or mode has. The plate's edges are held vertically over their faces. The
crossing is solid: its lower half has the grain of one rib, its upper half that of the other.
"""

from typing import NamedTuple

import numpy as np
import scipy.sparse.linalg as sparse
import skfem
from skfem.helpers import dot, sym_grad


class Quarter(NamedTuple):
    """A quarter meshed: its stiffness and mass, the basis, and the unknowns held at the rim."""

    mesh: skfem.MeshHex2
    basis: skfem.Basis
    stiffness: object
    mass: object
    rim: np.ndarray

    def on(self, axis, place, component):
        """Unknowns of one component on a plane."""
        facets = self.mesh.facets_satisfying(lambda p: np.abs(p[axis] - place) < 1e-9)
        return self.basis.get_dofs(facets=facets).all(f"u^{component + 1}")

    def held(self, alike):
        """Unknowns held: at the rim, and at each middle plane by whether what is sought is alike on both its sides."""
        out = [self.rim]
        for axis in range(2):
            components = [axis] if alike[axis] else [1 - axis, 2]
            out += [self.on(axis, 0.0, c) for c in components]
        return np.unique(np.concatenate(out))

    def free(self, alike):
        """The others."""
        return np.setdiff1d(np.arange(self.basis.N), self.held(alike))

    def solve(self, load, alike):
        """Displacements under a load on the quarter."""
        free = self.free(alike)
        u = np.zeros(self.basis.N)
        u[free] = sparse.splu(self.stiffness[free][:, free].tocsc()).solve(load[free])
        return u

    def frequencies(self, alike, count):
        """Lowest frequencies of one symmetry."""
        free = self.free(alike)
        k, m = self.stiffness[free][:, free].tocsc(), self.mass[free][:, free].tocsc()
        # what is alike about both axes cannot slide; the rest may, and a small shift keeps the factor
        values = sparse.eigsh(k, count, m, sigma=-((2 * np.pi * 5) ** 2), return_eigenvectors=False)
        return np.sqrt(np.maximum(np.sort(values), 0.0)) / (2 * np.pi)

    def pressed(self, x, y):
        """A unit pressure over a rectangle of the outer face, pushing towards the ribs, whose edges are lines of the mesh."""
        low = self.mesh.p[2].min()
        at = self.mesh.facets_satisfying(
            lambda p: (np.abs(p[2] - low) < 1e-9) & (p[0] > x[0]) & (p[0] < x[1]) & (p[1] > y[0]) & (p[1] < y[1]),
            boundaries_only=True,
        )
        face = skfem.FacetBasis(self.mesh, self.basis.elem, facets=at)
        return skfem.LinearForm(lambda v, w: v[2]).assemble(face)

    def _line(self, x, y, z):
        """Unknowns up along a line of the mesh from y to y, with the parts of its length that Simpson's rule gives each."""
        nodes = self.on(2, z, 2)
        p = self.basis.doflocs[:, nodes]
        some = (np.abs(p[0] - x) < 1e-9) & (p[1] > y[0] - 1e-9) & (p[1] < y[1] + 1e-9)
        order = np.argsort(p[1, some])
        nodes, at = nodes[some][order], p[1, some][order]
        weights = np.zeros(len(at))
        for i in range(0, len(at) - 2, 2):
            weights[i : i + 3] += np.array([1, 4, 1]) / 6 * (at[i + 2] - at[i])
        return nodes, weights

    def along(self, x, y):
        """A unit force per length along y at x, on the outer face, pushing towards the ribs."""
        load = np.zeros(self.basis.N)
        nodes, weights = self._line(x, y, self.mesh.p[2].min())
        load[nodes] = weights
        return load

    def mean_along(self, u, x, y):
        """Mean deflection along the same line, in the middle of the plate's thickness."""
        nodes, weights = self._line(x, y, 0.0)
        return weights @ u[nodes] / weights.sum()


def quarter(x, y, *, thickness, width, reach, heights, plate, ribs, densities, layers=(2, 4)):
    """Meshes a quarter.

    x, y are lines of the mesh from 0 up (holding half the width and the ends of the ribs, `reach` along x and along y); heights
    the crests of the two ribs as functions of the distance from the middle, alike within the crossing; plate and ribs (along x,
    along y) 6 x 6 stiffnesses; densities of plate and ribs; layers the elements through plate and ribs, the latter even.
    """
    half = 0.5 * width
    of_plate = np.linspace(-thickness / 2, thickness / 2, layers[0] + 1)
    z = np.concatenate([of_plate, 1000 + np.linspace(0, 1, layers[1] + 1)[1:]])
    mesh = skfem.MeshHex.init_tensor(x, y, z)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    first = (middle[1] < half) & (middle[0] < reach[0])
    second = (middle[0] < half) & (middle[1] < reach[1])
    mesh = skfem.MeshHex2.from_mesh(mesh.restrict(np.flatnonzero((middle[2] < thickness / 2) | first | second)))
    p = mesh.doflocs.copy()
    up, step = p[2] > thickness / 2 + 1e-9, 1 / layers[1]
    between = up & (p[2] < 900)
    part = np.where(between, step * (p[2] - thickness / 2) / (1000 + step - thickness / 2), p[2] - 1000)
    height = np.where(p[0] > p[1], heights[0](p[0]), heights[1](p[1]))
    p[2] = np.where(up, thickness / 2 + part * height, p[2])
    mesh = skfem.MeshHex2(p, mesh.t)
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementHex2()), intorder=4)
    middle = mesh.doflocs[:, mesh.t[:8]].mean(axis=1)
    on_rib = middle[2] > thickness / 2
    crossing = on_rib & (middle[0] < half) & (middle[1] < half)
    low = middle[2] < thickness / 2 + 0.5 * heights[0](0.0)
    # the rib along x is the lower half of the crossing
    along_x = on_rib & (((middle[1] < half) & ~crossing) | (crossing & low))
    along_y = on_rib & ~along_x

    def energy(c):
        @skfem.BilinearForm
        def form(u, v, w):
            def strains(e):
                return [e[0, 0], e[1, 1], e[2, 2], 2 * e[1, 2], 2 * e[0, 2], 2 * e[0, 1]]

            a, b = strains(sym_grad(u)), strains(sym_grad(v))
            return sum(c[i, j] * a[j] * b[i] for i in range(6) for j in range(6) if c[i, j] != 0)

        return form

    k, m = 0, 0
    for c, density, where in (
        (plate, densities[0], ~on_rib),
        (ribs[0], densities[1], along_x),
        (ribs[1], densities[1], along_y),
    ):
        some = skfem.Basis(mesh, basis.elem, intorder=4, elements=np.flatnonzero(where))
        k = k + energy(c).assemble(some)
        m = m + density * skfem.BilinearForm(lambda u, v, w: dot(u, v)).assemble(some)
    made = Quarter(mesh, basis, k, m, np.zeros(0, int))
    return made._replace(rim=np.union1d(made.on(0, x[-1], 2), made.on(1, y[-1], 2)))
