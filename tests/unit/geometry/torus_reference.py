#!/usr/bin/env python3
"""Where rays first meet tori, by mpmath: writes torus_reference.inc to stdout.

The quartic of the whole torus, (|w|^2 + R^2 - r^2)^2 = 4 R^2 (x^2 + z^2) with w counted from the middle of the ring,
R = Rx - Ry and r = Ry, solved for all its roots in 60 digits. Of these the first ahead that lies on the quarter of the
tube near the vertex and inside the rectangle |x| <= 1.5 m, |y| <= 1.2 m.

Run: /usr/bin/python3 tests/unit/geometry/torus_reference.py > tests/unit/geometry/torus_reference.inc
"""
import random

import mpmath as mp

mp.mp.dps = 60
random.seed(5)
TORI = [(5, 3), (3, 5), (-3, -2), (3, -4), (100, 99), (1000, 980)]


def first_hit(rx, ry, p, d):
    R, r = mp.mpf(rx - ry), mp.mpf(ry)
    o = [p[0], p[1], p[2] - rx]  # from the middle of the ring
    b, c = sum(o[k] * d[k] for k in range(3)), sum(x * x for x in o)
    dd = sum(x * x for x in d)
    k = c + R * R - r * r
    flat = [d[0] ** 2 + d[2] ** 2, o[0] * d[0] + o[2] * d[2], o[0] ** 2 + o[2] ** 2]
    poly = [
        dd * dd,
        4 * b * dd,
        4 * b * b + 2 * dd * k - 4 * R * R * flat[0],
        4 * b * k - 8 * R * R * flat[1],
        k * k - 4 * R * R * flat[2],
    ]
    hits = []
    for root in mp.polyroots(poly, maxsteps=500, extraprec=400):
        if abs(mp.im(root)) > mp.mpf(10) ** -20 or mp.re(root) <= 0:
            continue
        t = mp.re(root)
        x, y, z = (p[i] + t * d[i] for i in range(3))
        rho = mp.sign(rx) * mp.sqrt(x * x + (rx - z) ** 2)
        # A spindle's quartic is that of its mirror image about the axis too.
        own = abs(mp.sqrt((rho - R) ** 2 + y * y) - abs(r)) < mp.mpf(10) ** -20
        near = own and (rx - z) * rx > 0 and (rho - R) * r > 0
        if near and abs(x) <= mp.mpf("1.5") and abs(y) <= mp.mpf("1.2"):
            hits.append(t)
    return min(hits) if hits else mp.mpf(0)


for rx, ry in TORI:
    for _ in range(30):
        aim = [random.uniform(-1.6, 1.6), random.uniform(-1.3, 1.3), random.uniform(-0.3, 0.6)]
        away = [random.gauss(0, 1) for _ in range(3)]
        scale = random.choice([0.5, 3, 40])
        p = [aim[k] + scale * away[k] for k in range(3)]
        d = [-x for x in away]
        norm = sum(x * x for x in d) ** 0.5
        d = [x / norm for x in d]
        # What the doubles hold, of a length near 1; the distance is counted in that length.
        t = first_hit(rx, ry, [mp.mpf(x) for x in p], [mp.mpf(x) for x in d])
        print("{%d, %d, {%s}, {%s}, %s}," % (
            rx, ry, ", ".join(map(repr, p)), ", ".join(map(repr, d)), mp.nstr(t, 20, min_fixed=-5, max_fixed=20)))
