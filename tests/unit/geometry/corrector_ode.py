#!/usr/bin/env python3
"""Sections of correctors by the law of reflection alone: writes corrector_ode.inc to stdout.

The corrector's point on the ray of the primary's point M(r) is S = M + T d. Wherever it is, its tangent dS/dr is at
right angles to the bisector u - d of the incoming direction d and the outgoing one u = (F - S) / |F - S|. That is a
differential equation for T(r) with T(0) = height of the vertex; no path length enters. Integrated by scipy's DOP853.

Run: /usr/bin/python3 tests/unit/geometry/corrector_ode.py > tests/unit/geometry/corrector_ode.inc
"""
import numpy as np
import scipy
from scipy.integrate import solve_ivp

# curvature, q, focus, through, largest r
CASES = {
    "sphere, beyond its focus": (1, 1, 0.4, 0.6, 0.5),
    "sphere, before its focus": (1, 1, -0.1, 0.3, 0.5),
    "centre cup": (1, 1, 1, 1.05, 0.5),
    "wide centre cup": (1, 1, 1, 1.2, 0.7),
    "paraboloid, before": (1, 0, 0.1, 0.3, 0.6),
    "ellipsoid, beyond": (1, 0.4, 0.3, 0.8, 0.6),
    "hyperboloid, before": (1, -0.5, 0.1, 0.3, 0.6),
    "oblate ellipsoid, beyond": (0.25, 1.5, 1, 3, 1.2),
}


def ray(r, c, q):
    """The primary's point and its derivative, the reflected direction and its derivative."""
    root = np.sqrt(1 - q * c * c * r * r)
    height, steep, bend = c * r * r / (1 + root), c * r / root, c / root**3
    angle = 2 * np.arctan(steep)
    turn = 2 * bend / (1 + steep**2)
    d = np.array([-np.sin(angle), np.cos(angle)])
    return np.array([r, height]), np.array([1, steep]), d, -turn * np.array([np.cos(angle), np.sin(angle)])


def section(c, q, focus, through, largest):
    f = np.array([0, focus])

    def slope(r, state):
        m, m_r, d, d_r = ray(r, c, q)
        s = m + state[0] * d
        bisector = (f - s) / np.linalg.norm(f - s) - d
        return [-np.dot(m_r + state[0] * d_r, bisector) / np.dot(d, bisector)]

    at = largest * np.array([0.1, 0.25, 0.5, 0.75, 0.9, 1])
    got = solve_ivp(slope, (0, largest), [through], method="DOP853", t_eval=at, rtol=1e-13, atol=1e-15)
    assert got.success
    for r, t in zip(got.t, got.y[0]):
        m, _, d, _ = ray(r, c, q)
        yield r, m + t * d


print(f"// By corrector_ode.py with scipy {scipy.__version__}: do not edit.")
print("// case, c, q, focus, through, largest r; r, then the x and height of the corrector's point")
for name, case in CASES.items():
    for r, s in section(*case):
        numbers = ", ".join(repr(float(x)) for x in (*case, r, *s))
        print(f'{{"{name}", {numbers}}},')
