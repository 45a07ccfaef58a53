"""A brace glued to a strip of plate, as a solid: 27-node bricks (scikit-fem), SuperLU (scipy). Nothing of the library is in it.

x runs along the brace, y across, z up from the middle of the plate. The ends of the plate are held vertically over their faces;
the brace's ends are free. The load presses on the outer face of the plate, over the brace's width.
"""

from typing import NamedTuple

import numpy as np
import scipy.sparse.linalg as sparse
import skfem
from skfem.helpers import sym_grad

PAIRS = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)]


def stiffness(e_l, e_r, e_t, g_rt, g_lt, g_lr, nu_lr, nu_lt, nu_rt):
    """6 x 6 in the wood's own axes, L along x, R along y, T along z."""
    s = np.diag([1 / e_l, 1 / e_r, 1 / e_t, 1 / g_rt, 1 / g_lt, 1 / g_lr])
    s[0, 1] = s[1, 0] = -nu_lr / e_l
    s[0, 2] = s[2, 0] = -nu_lt / e_l
    s[1, 2] = s[2, 1] = -nu_rt / e_r
    return np.linalg.inv(s)


def turned(c, angle):
    """The same with the grain turned about z."""
    full = np.zeros((3, 3, 3, 3))
    for a, (i, j) in enumerate(PAIRS):
        for b, (k, m) in enumerate(PAIRS):
            for p, q in {(i, j), (j, i)}:
                for r, s in {(k, m), (m, k)}:
                    full[p, q, r, s] = c[a, b]
    r = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])
    full = np.einsum("ai,bj,ck,dl,ijkl->abcd", r, r, r, r, full)
    return np.array([[full[i, j, k, m] for k, m in PAIRS] for i, j in PAIRS])


class Solid(NamedTuple):
    """A strip solved as a solid: mesh, its basis, displacements, and the stiffnesses of plate and brace."""

    mesh: skfem.MeshHex2
    basis: skfem.Basis
    u: np.ndarray
    plate: np.ndarray
    brace: np.ndarray
    thickness: float
    start: float
    length: float

    def node(self, at, component):
        """The unknown of one component at the node nearest to a place."""
        dofs = self.basis.nodal_dofs[component]
        return dofs[np.argmin(np.sum((self.mesh.doflocs[:, : len(dofs)] - np.array(at)[:, None]) ** 2, axis=0))]

    def deflection(self):
        """In the middle at the glue line, less that of the brace's end."""
        at = [self.u[self.node((place, 0, self.thickness / 2), 2)] for place in (self.length / 2, self.start)]
        return at[0] - at[1]

    def stresses(self, x):
        """Along x, in the middle of the width: at the crest, at the glue face of the brace, on the outer face of the plate; a row
        for every x, which lies on no line of the mesh. The mean of the elements on either side of y = 0."""
        corners = self.mesh.p[:, self.mesh.t[:8]]
        low, high = corners.min(axis=1), corners.max(axis=1)
        on_brace = corners[2].mean(axis=0) > self.thickness / 2
        rows = []
        for place in x:
            column = (low[0] < place) & (place < high[0]) & (low[1] <= 0) & (high[1] >= 0)
            row = []
            for brace, top in ((True, True), (True, False), (False, False)):
                some = np.flatnonzero(column & (on_brace == brace))
                # the layer whose middle is highest or lowest on each side
                sides = [some[corners[1][:, some].mean(axis=0) < 0], some[corners[1][:, some].mean(axis=0) > 0]]
                c = self.brace if brace else self.plate
                found = []
                for side in filter(len, sides):
                    middle = corners[2][:, side].mean(axis=0)
                    found.append(self._stress(side[np.argmax(middle) if top else np.argmin(middle)], place, top, c))
                row.append(np.mean(found))
            rows.append(row)
        return np.array(rows)

    def _stress(self, element, x, top, c):
        """Stress along x in the middle of the width, on the upper or lower face of one element. Its own axes may lie any way;
        those that go across and along are straight."""
        corners, own = self.mesh.p[:, self.mesh.t[:8, element]], self.basis.elem.refdom.p
        origin = np.argmin(own.sum(axis=0))
        inside = np.zeros(3)
        for axis in range(3):
            along = corners[:, np.argmin(np.abs(own - np.eye(3)[:, [axis]]).sum(axis=0))] - corners[:, origin]
            if abs(along[0]) > 1e-9:
                inside[axis] = (x - corners[0, origin]) / along[0]
            elif abs(along[1]) > 1e-9:
                inside[axis] = -corners[1, origin] / along[1]
            else:
                inside[axis] = float(top == (along[2] > 0))
        here = skfem.CellBasis(self.mesh, self.basis.elem, elements=np.array([element]), quadrature=(inside[:, None], np.ones(1)))
        g = here.interpolate(self.u).grad[:, :, 0, 0]
        e = 0.5 * (g + g.T)
        return c[0] @ np.array([e[0, 0], e[1, 1], e[2, 2], 2 * e[1, 2], 2 * e[0, 2], 2 * e[0, 1]])


def deflection(x, y, **given):
    """Deflection in the middle at the glue line less that of the brace's end, and how many unknowns it took; see `solved`."""
    solid = solved(x, y, **given)
    return solid.deflection(), solid.basis.N


def solved(x, y, *, thickness, width, height, plate, brace, load, pad, layers=(2, 5), start=0.0, quarter=False):
    """The strip as a solid.

    x, y are lines of the mesh (y holds 0 and both edges of the brace), height the crest over the glue line as a function of x,
    plate and brace 6 x 6 stiffnesses, layers the elements through plate and brace. The brace begins at `start` and ends as far
    from the other end of the plate. A quarter does where brace and grain are alike about both middles: x then ends in the middle
    and y begins there.
    """
    half, length = 0.5 * width, (2 * x[-1] if quarter else x[-1])
    # the brace is meshed on z from 1000 up and brought down to its place
    z = np.concatenate([np.linspace(-thickness / 2, thickness / 2, layers[0] + 1), 1000 + np.linspace(0, 1, layers[1] + 1)[1:]])
    mesh = skfem.MeshHex.init_tensor(x, y, z)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    under = (np.abs(middle[1]) < half) & (np.abs(middle[0] - length / 2) < length / 2 - start)
    mesh = skfem.MeshHex2.from_mesh(mesh.restrict(np.flatnonzero((middle[2] < thickness / 2) | under)))
    p = mesh.doflocs.copy()
    up, first = p[2] > thickness / 2 + 1e-9, 1 / layers[1]
    between = up & (p[2] < 900)
    part = np.where(between, first * (p[2] - thickness / 2) / (1000 + first - thickness / 2), p[2] - 1000)
    p[2] = np.where(up, thickness / 2 + part * height(p[0]), p[2])
    mesh = skfem.MeshHex2(p, mesh.t)
    element = skfem.ElementVector(skfem.ElementHex2())
    basis = skfem.Basis(mesh, element, intorder=4)
    on_brace = mesh.doflocs[2][mesh.t[:8]].mean(axis=0) > thickness / 2

    def form(c):
        @skfem.BilinearForm
        def energy(u, v, w):
            def strains(e):
                return [e[0, 0], e[1, 1], e[2, 2], 2 * e[1, 2], 2 * e[0, 2], 2 * e[0, 1]]

            a, b = strains(sym_grad(u)), strains(sym_grad(v))
            return sum(c[i, j] * a[j] * b[i] for i in range(6) for j in range(6) if c[i, j] != 0)

        return energy

    k = sum(
        form(c).assemble(skfem.Basis(mesh, element, intorder=4, elements=np.flatnonzero(where)))
        for c, where in ((plate, ~on_brace), (brace, on_brace))
    )
    under = mesh.facets_satisfying(
        lambda q: (np.abs(q[2] + thickness / 2) < 1e-9) & (np.abs(q[0] - length / 2) < pad / 2) & (np.abs(q[1]) < half)
    )
    pressed = skfem.FacetBasis(mesh, element, intorder=4, facets=under)
    area = np.sum(pressed.dx)
    f = skfem.LinearForm(lambda v, w: v[2] * load / (4 if quarter else 1) / area).assemble(pressed)
    ends = mesh.facets_satisfying(lambda q: ((q[0] < 1e-9) | (q[0] > length - 1e-9)) & (q[2] < thickness / 2))

    solid = Solid(mesh, basis, np.zeros(basis.N), plate, brace, thickness, start, length)
    if quarter:
        across, along = (mesh.facets_satisfying(lambda q, i=i, at=at: np.abs(q[i] - at) < 1e-9) for i, at in ((0, x[-1]), (1, 0)))
        slides = np.concatenate([basis.get_dofs(across).all(["u^1"]), basis.get_dofs(along).all(["u^2"])])
    else:
        slides = [solid.node((0, 0, 0), 0), solid.node((0, 0, 0), 1), solid.node((length, 0, 0), 1)]
    free = np.setdiff1d(np.arange(basis.N), np.concatenate([basis.get_dofs(ends).all(["u^3"]), slides]))
    solid.u[free] = sparse.spsolve(k[free][:, free].tocsc(), f[free], permc_spec="MMD_AT_PLUS_A", use_umfpack=False)
    return solid
