"""Free orthotropic plates as 3-D solids: the frequencies in rust/bracewright/tests/data/plate_solid.csv.

Full three-dimensional elasticity, 27-node hexahedra (scikit-fem, ElementHex2), no plate theory. Moduli in MPa, mm, tonnes.
About two minutes. Run: OPENBLAS_NUM_THREADS=1 python tests/oracles/plate_solid.py
"""

import numpy as np
from scipy.sparse.linalg import LinearOperator, eigsh, splu
from skfem import Basis, BilinearForm, ElementHex2, ElementVector, MeshHex


def stiffness(el, er, et, glr, glt, grt, nlr, nlt, nrt):
    s = np.zeros((6, 6))
    s[0, 0], s[1, 1], s[2, 2] = 1 / el, 1 / er, 1 / et
    s[0, 1] = s[1, 0] = -nlr / el
    s[0, 2] = s[2, 0] = -nlt / el
    s[1, 2] = s[2, 1] = -nrt / er
    s[3, 3], s[4, 4], s[5, 5] = 1 / grt, 1 / glt, 1 / glr
    return np.linalg.inv(s)


def turned(c, deg):
    """The law in axes from which the grain is turned by deg, x towards y, about the thickness."""
    a = np.radians(deg)
    q = np.array([[np.cos(a), np.sin(a), 0], [-np.sin(a), np.cos(a), 0], [0, 0, 1.0]])  # rows L, R, T in x, y, z
    pairs = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)]
    t = np.zeros((6, 6))
    for col, (m, n) in enumerate(pairs):
        e = np.zeros((3, 3))
        e[m, n] = e[n, m] = 1.0 if m == n else 0.5
        r = q @ e @ q.T
        t[:, col] = [r[i, j] * (1 if i == j else 2) for i, j in pairs]
    return t.T @ c @ t


def closer(n):
    """Mesh lines over [-0.5, 0.5], closer towards both ends, where a plate soft in rolling shear has its edge layer."""
    s = np.linspace(-1, 1, n + 1)
    return 0.5 * (0.35 * s + 0.65 * np.sin(0.5 * np.pi * s))


def frequencies(a, b, thickness, density, c, n, count=9, outline=None):
    m = MeshHex.init_tensor(closer(n[0]) + 0.5, closer(n[1]), np.linspace(-0.5, 0.5, n[2] + 1))
    p = m.p.copy()
    t = thickness if callable(thickness) else (lambda x, y: 0 * x + thickness)
    w = outline if outline else (lambda x: 0 * x + b)
    x = p[0] * a
    y = p[1] * w(p[0])
    m = MeshHex(np.array([x, y, p[2] * t(x, y)]), m.t)
    basis = Basis(m, ElementVector(ElementHex2()), intorder=5)

    def strain(u):
        g = u.grad
        return [g[0, 0], g[1, 1], g[2, 2], g[1, 2] + g[2, 1], g[0, 2] + g[2, 0], g[0, 1] + g[1, 0]]

    @BilinearForm
    def k(u, v, _):
        eu, ev = strain(u), strain(v)
        return sum(c[i, j] * eu[j] * ev[i] for i in range(6) for j in range(6) if abs(c[i, j]) > 0)

    @BilinearForm
    def mass(u, v, _):
        return density * sum(u.value[i] * v.value[i] for i in range(3))

    K, M = k.assemble(basis).tocsc(), mass.assemble(basis).tocsc()
    s = (2 * np.pi * 30.0) ** 2
    lu = splu(K + s * M, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=dict(SymmetricMode=True))
    op = LinearOperator(K.shape, matvec=lu.solve)
    v = eigsh(K, count + 6, M, sigma=-s, OPinv=op, which="LM", return_eigenvectors=False)
    v = np.sort(v)[6:]
    return np.sqrt(v) / (2 * np.pi), K.shape[0]


CASES = {
    # thick for its size, other ratios than the published ones
    "thick": dict(a=240.0, b=190.0, thickness=6.0, density=430e-12, c=stiffness(13000, 900, 550, 950, 720, 45, 0.40, 0.44, 0.45)),
    # a top: thinner towards one end and one side, narrowing, grain 5 degrees off
    "mapped": dict(
        a=500.0,
        b=400.0,
        density=410e-12,
        c=turned(stiffness(11500, 850, 480, 720, 690, 40, 0.37, 0.44, 0.45), 5.0),
        thickness=lambda x, y: 3.2 - x / 1000.0 + y / 1000.0,
        outline=lambda s: 400.0 - 60.0 * s,
    ),
}

if __name__ == "__main__":
    for name, meshes in {"thick": [(14, 14, 2), (20, 20, 2)], "mapped": [(20, 20, 2), (28, 28, 2)]}.items():
        coarse, fine = (frequencies(n=n, **CASES[name])[0] for n in meshes)
        for k in range(8):
            print(f"{name},{k + 1},{fine[k]:.4f},{abs(fine[k] - coarse[k]):.4f}")
