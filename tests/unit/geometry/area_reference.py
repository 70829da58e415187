#!/usr/bin/env python3
"""Areas of curved surfaces inside an outline and a rectangle, by mpmath: writes area_reference.inc to stdout.

The plain double integral of the slant sqrt(1 + |grad z|^2) over y, then over x, split where outline and rectangle have
corners or cross; tanh-sinh rules, 25 digits, so that an equator close by does no harm. No theorem of Green, no closed
form of any part.

Run: /usr/bin/python3 tests/unit/geometry/area_reference.py > tests/unit/geometry/area_reference.inc
"""
import itertools
import mpmath as mp

mp.mp.dps = 25


def conic(c, q, terms=()):
    def slant(x, y):
        s = x * x + y * y
        slope = c / (2 * mp.sqrt(1 - q * c * c * s)) + sum((n + 2) * a * s ** (n + 1) for n, a in enumerate(terms))
        return mp.sqrt(1 + 4 * s * slope * slope)
    return slant


def trough(c, q):
    return lambda x, y: mp.sqrt(1 + c * c * x * x / (1 - q * c * c * x * x))


class Polygon:
    def __init__(self, corners):
        self.corners = [(mp.mpf(x), mp.mpf(y)) for x, y in corners]
        self.edges = list(zip(self.corners, self.corners[1:] + self.corners[:1]))

    def breaks(self, low, high):
        out = [x for x, _ in self.corners]
        for (x0, y0), (x1, y1) in self.edges:
            for y in (low[1], high[1]):
                if y0 != y1:
                    out.append(x0 + (y - y0) / (y1 - y0) * (x1 - x0))
        return out

    def spans(self, x):
        at = sorted(y0 + (x - x0) / (x1 - x0) * (y1 - y0) for (x0, y0), (x1, y1) in self.edges if (x0 < x) != (x1 < x))
        return list(zip(at[::2], at[1::2]))

    def bounds(self):
        xs, ys = zip(*self.corners)
        return (min(xs), min(ys)), (max(xs), max(ys))

    def text(self):
        return "Polygon({" + ", ".join("{%s, %s}" % (mp.nstr(x, 17), mp.nstr(y, 17)) for x, y in self.corners) + "})"


class Ring:
    def __init__(self, inner, outer, center):
        self.radii, self.center = [mp.mpf(inner), mp.mpf(outer)], [mp.mpf(v) for v in center]

    def breaks(self, low, high):
        out = []
        for r in self.radii:
            out += [self.center[0] - r, self.center[0], self.center[0] + r]
            for y in (low[1], high[1]):
                d = r * r - (y - self.center[1]) ** 2
                if d > 0:
                    out += [self.center[0] - mp.sqrt(d), self.center[0] + mp.sqrt(d)]
        return out

    def spans(self, x):
        inner, outer = (r * r - (x - self.center[0]) ** 2 for r in self.radii)
        y = self.center[1]
        if outer <= 0:
            return []
        if inner <= 0:
            return [(y - mp.sqrt(outer), y + mp.sqrt(outer))]
        return [(y - mp.sqrt(outer), y - mp.sqrt(inner)), (y + mp.sqrt(inner), y + mp.sqrt(outer))]

    def bounds(self):
        (x, y), r = self.center, self.radii[1]
        return (x - r, y - r), (x + r, y + r)

    def text(self):
        return "Ring{%s, %s, {%s, %s}}" % tuple(mp.nstr(v, 17) for v in self.radii + self.center)


def split(a, b, also=()):
    """Ends and inner points; long stretches get some at every power of ten, since the surface bends near its axis."""
    points = [s * mp.mpf(10) ** k for k in range(0, 6) for s in (-1, 1)] if b - a > 20 else []
    inner = sorted(p for p in itertools.chain([mp.mpf(0)], points, also) if a < p < b)
    kept = [a]
    for p in inner + [b]:
        if p - kept[-1] > 1e-15 * (b - a) or p == b:
            kept.append(p)
    return kept


def area(slant, outline, low, high):
    def strip(x):
        total = mp.mpf(0)
        for y0, y1 in outline.spans(x):
            y0, y1 = max(y0, low[1]), min(y1, high[1])
            if y0 < y1:
                total += mp.quad(lambda y: slant(x, y), split(y0, y1))
        return total
    return mp.quad(strip, split(low[0], high[0], outline.breaks(low, high)))


HEXAGON = Polygon([(0.75 * mp.cos(k * mp.pi / 3), 0.75 * mp.sin(k * mp.pi / 3)) for k in range(6)])
EIGHT = Polygon([(6.6669e-05, 3.56337e-05), (3.21878e-05, 6.44912e-05), (-1.23589e-05, 0.000108899),
                 (-6e-05, 3.27485e-05), (-7.5424e-05, -1.47596e-05), (-4.5725e-05, -0.000160533),
                 (1.94712e-05, -5.23875e-05), (8.31559e-05, -6.50064e-05)])
SPEAR = Polygon([(0.18679, 0.219325), (-0.103497, -0.0338707), (-0.0693356, -220115.0)])
OBLIQUE = Polygon([(0.9, 0.43), (-0.38, 0.92), (-0.9, -0.43), (0.38, -0.92)])
SLIVER = Polygon([(0.2, 0.3), (0.9, 0.31), (0.2, 0.300001)])
ASIDE = Ring(0.2, 0.55, (0.3, -0.4))
FAR = Ring(0, 0.01, (3, 4))

# surface in C++, slant, outline, rectangle (None: the outline's bounds)
CASES = [
    ("Conic{1 / 10.0, 0}", conic(mp.mpf(1) / 10, 0), HEXAGON, None),
    ("Conic{1 / 10.0, 0}", conic(mp.mpf(1) / 10, 0), HEXAGON, ((0.6, 0.1), (0.75, 0.3))),
    ("Conic{1 / 10.0, 0}", conic(mp.mpf(1) / 10, 0), HEXAGON, ((0.1, 0.1), (0.3, 0.2))),
    ("Conic{1 / 0.000277316, -6.48663}", conic(1 / mp.mpf("0.000277316"), mp.mpf("-6.48663")), EIGHT, None),
    ("Conic{1 / -2.12866, 0}", conic(1 / mp.mpf("-2.12866"), 0), SPEAR, None),
    ("Conic{1, 1}", conic(mp.mpf(1), 1), OBLIQUE, None),
    ("Conic{1, 1}", conic(mp.mpf(1), 1), OBLIQUE, ((0.7, 0.2), (0.91, 0.44))),
    ("Conic{1, 1.003}", conic(mp.mpf(1), mp.mpf("1.003")), OBLIQUE, None),
    ("Conic{1, 0.4}", conic(mp.mpf(1), mp.mpf("0.4")), OBLIQUE, None),
    ("Conic{1, 0.4}", conic(mp.mpf(1), mp.mpf("0.4")), SLIVER, None),
    ("Conic{3, -20}", conic(mp.mpf(3), -20), ASIDE, None),
    ("Conic{1, 1.9}", conic(mp.mpf(1), mp.mpf("1.9")), Ring(0.1, 0.3, (0.3, 0.3)), None),
    ("Conic{1, 1}", conic(mp.mpf(1), 1), ASIDE, ((0.1, -0.3), (0.5, 0.15))),
    ("Conic{1, 1}", conic(mp.mpf(1), 1), ASIDE, ((-0.02, -0.01), (0.03, 0.2))),
    ("Conic{1 / 20.0, 1}", conic(mp.mpf(1) / 20, 1), FAR, None),
    ("Conic{1 / 20.0, 0.3}", conic(mp.mpf(1) / 20, mp.mpf("0.3")), FAR, ((2.99, 4), (3, 4.005))),
    ("Trough{1, 1}", trough(mp.mpf(1), 1), OBLIQUE, None),
    ("Trough{1, 1}", trough(mp.mpf(1), 1), Ring(0.2, 0.5999, (0.4, -0.4)), None),
    ("Trough{1, 0}", trough(mp.mpf(1), 0), ASIDE, ((0.1, -0.3), (0.5, 0.15))),
    ("Trough{2, -3}", trough(mp.mpf(2), -3), OBLIQUE, ((-0.9, -0.5), (0.1, 0.6))),
    ("Trough{1, 1.02}", trough(mp.mpf(1), mp.mpf("1.02")), OBLIQUE, None),
    ("Asphere(1, 0.5, {0.1, -0.2, 0.05, 0.3}, 1)", conic(mp.mpf(1), 0.5, [mp.mpf(t) / 100 for t in (10, -20, 5, 30)]),
     OBLIQUE, None),
    ("Asphere(1, 1, {-0.4, 0, 0, 0.2}, 0.9999)", conic(mp.mpf(1), 1, [mp.mpf(-4) / 10, 0, 0, mp.mpf(2) / 10]),
     Ring(0.2, 0.49, (0.3, -0.4)), ((0.1, -0.9), (0.7, 0.1))),
]

print("// Written by area_reference.py, mpmath %s." % mp.__version__)
for text, slant, outline, box in CASES:
    low, high = box or outline.bounds()
    low, high = [mp.mpf(v) for v in low], [mp.mpf(v) for v in high]
    corners = ", ".join("{%s, %s}" % (mp.nstr(v[0], 17), mp.nstr(v[1], 17)) for v in (low, high))
    print("    {%s, %s, {%s}, %s}," % (text, outline.text(), corners, mp.nstr(area(slant, outline, low, high), 17)),
          flush=True)
