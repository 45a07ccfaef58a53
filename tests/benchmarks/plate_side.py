"""A braced plate as a person would set it up with scikit-fem: thin plate, membrane, and thin braces below it, solved by SuperLU.

500 x 400 mm, the grain along x, edges pinned at the middle of the plate. Bogner-Fox-Schmit squares carry w, quadratic ones u
and v. The braces lie along both diagonals, from a tenth to nine tenths, and need no unknowns of their own: their strain is that
of the plate at their depth, summed at Gauss points on the diagonals of the cells they pass. They cross whole, without a lap.
"""

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import LinearOperator, eigsh, splu
from skfem import Basis, BilinearForm, CellBasis, ElementQuad2, ElementQuadBFS, ElementVector, LinearForm, MeshQuad
from skfem.helpers import dd

LENGTH, WIDTH, THICK = 500.0, 400.0, 2.8
PLATE = dict(e_l=10800.0, e_r=850.0, e_t=500.0, g_lr=700.0, g_lt=650.0, g_rt=35.0, nu_lr=0.37, nu_lt=0.42, nu_rt=0.43)
RIB = dict(wide=8.0, tall=16.0, e=12000.0, g=800.0)
DENSITY, PRESSURE = 420e-12, 1e-3  # t/mm3, MPa


def unknowns(squares):
    return 12 * squares**2


def form(of, by, test=None):
    return BilinearForm(by).assemble(*((of, test) if test is not None else (of,)))


def brace(mesh, flat, bent, squares, way):
    """Stiffness and mass of the brace along a diagonal, y growing with x (1) or falling (-1)."""
    dx, dy = LENGTH / squares, WIDTH / squares
    step = np.hypot(dx, dy)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    column, row = (middle // np.array([[dx], [dy]])).astype(int)
    passed = (column >= squares // 10) & (column < squares - squares // 10)
    cells = np.flatnonzero(passed & (row == (column if way == 1 else squares - 1 - column)))
    points, weights = np.polynomial.legendre.leggauss(5)
    points, weights = (points + 1) / 2, weights / 2
    reach = np.array([[dx], [way * dy]])
    along = (middle[:, cells] - reach / 2)[:, :, None] + reach[:, None, :] * points
    local = mesh.mapping().invF(along, tind=cells)
    assert np.ptp(np.sort(local, axis=2), axis=1).max() < 1e-9
    lay = dict(quadrature=(local[:, 0], weights), elements=cells)
    on_u, on_w = CellBasis(mesh, flat, **lay), CellBasis(mesh, bent, **lay)
    c, s = dx / step, way * dy / step

    def stretch(a):
        return c * c * a[0, 0] + s * s * a[1, 1] + c * s * (a[0, 1] + a[1, 0])

    def turned(a):
        return c * s * (a[1, 1] - a[0, 0]) + (c * c - s * s) * a[0, 1]

    area, deep = RIB["wide"] * RIB["tall"], (THICK + RIB["tall"]) / 2
    about = area * deep**2 + area * RIB["tall"] ** 2 / 12
    torsion = 0.2287 * RIB["tall"] * RIB["wide"] ** 3
    # the basis weighs points by the cell's area; a brace wants its length there
    by = step / (dx * dy)
    ea, ei, gj, heavy = (by * v for v in (RIB["e"] * area, RIB["e"] * about, RIB["g"] * torsion, DENSITY))
    # z upward: a point of the brace at -deep moves by u + deep grad w
    uu = form(on_u, lambda u, v, _: ea * stretch(u.grad) * stretch(v.grad))
    wu = form(on_w, lambda w, v, _: ea * deep * stretch(dd(w)) * stretch(v.grad), on_u)
    ww = form(on_w, lambda w, v, _: ei * stretch(dd(w)) * stretch(dd(v)) + gj * turned(dd(w)) * turned(dd(v)))
    k = sp.bmat([[uu, wu], [wu.T, ww]], "csc")
    uu = form(on_u, lambda u, v, _: heavy * area * (u[0] * v[0] + u[1] * v[1]))
    wu = form(on_w, lambda w, v, _: heavy * area * deep * (w.grad[0] * v[0] + w.grad[1] * v[1]), on_u)
    ww = form(on_w, lambda w, v, _: heavy * (area * w * v + about * (w.grad[0] * v.grad[0] + w.grad[1] * v.grad[1])))
    return k, sp.bmat([[uu, wu], [wu.T, ww]], "csc")


def model(squares):
    """Stiffness, mass, load of the free unknowns, and which of them is the deflection in the middle. `squares` in tens."""
    mesh = MeshQuad.init_tensor(np.linspace(0, LENGTH, squares + 1), np.linspace(0, WIDTH, squares + 1))
    flat, bent = ElementVector(ElementQuad2()), ElementQuadBFS()
    of_u, of_w = Basis(mesh, flat, intorder=4), Basis(mesh, bent, intorder=6)
    minor = PLATE["nu_lr"] * PLATE["e_r"] / PLATE["e_l"]
    one = 1 - PLATE["nu_lr"] * minor
    q = np.array([[PLATE["e_l"], minor * PLATE["e_l"]], [minor * PLATE["e_l"], PLATE["e_r"]]]) / one
    g = PLATE["g_lr"]

    def plane(a, b, twist):
        direct = sum(q[i, j] * a[i, i] * b[j, j] for i in (0, 1) for j in (0, 1))
        return direct + g * twist(a) * twist(b)

    k_w = form(of_w, lambda w, v, _: THICK**3 / 12 * plane(dd(w), dd(v), lambda a: 2 * a[0, 1]))
    k_u = form(of_u, lambda u, v, _: THICK * plane(u.grad, v.grad, lambda a: a[0, 1] + a[1, 0]))
    m_w = form(of_w, lambda w, v, _: DENSITY * THICK * w * v)
    m_u = form(of_u, lambda u, v, _: DENSITY * THICK * (u[0] * v[0] + u[1] * v[1]))
    k, m = sp.block_diag([k_u, k_w], "csc"), sp.block_diag([m_u, m_w], "csc")
    load = np.concatenate([np.zeros(of_u.N), LinearForm(lambda v, _: PRESSURE * v).assemble(of_w)])

    for way in (1, -1):
        more_k, more_m = brace(mesh, flat, bent, squares, way)
        k, m = k + more_k, m + more_m

    ends = of_w.get_dofs(lambda x: np.isclose(x[0], 0) | np.isclose(x[0], LENGTH)).all(["u", "u_y"])
    sides = of_w.get_dofs(lambda x: np.isclose(x[1], 0) | np.isclose(x[1], WIDTH)).all(["u", "u_x"])
    held = np.concatenate([of_u.get_dofs().all(), of_u.N + ends, of_u.N + sides])
    free = np.setdiff1d(np.arange(k.shape[0]), held)
    centre = of_u.N + of_w.nodal_dofs[0, np.argmin(np.hypot(mesh.p[0] - LENGTH / 2, mesh.p[1] - WIDTH / 2))]
    return k[free][:, free].tocsc(), m[free][:, free].tocsc(), load[free], int(np.searchsorted(free, centre))


def answers(squares, modes=10):
    """Deflection in the middle, mm, and frequencies, Hz."""
    k, m, load, centre = model(squares)
    # the order and the pivoting that suit a symmetric positive matrix
    lu = splu(k, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=dict(SymmetricMode=True))
    inverse = LinearOperator(k.shape, lu.solve, dtype=float)
    squared = eigsh(k, modes, m, sigma=0.0, OPinv=inverse, return_eigenvectors=False)
    return float(lu.solve(load)[centre]), np.sqrt(np.sort(squared)) / (2 * np.pi)
