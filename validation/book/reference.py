"""Quadratures that several references share. Nothing here knows the engine: numpy and scipy alone.

How a share of light inside a receiver is found: seen from one mirror point, the receiver's rim is a closed curve in
the plane of whatever strays (direction cosines of the sun, or slopes of the normal). For a law of the stray that
depends on its size s alone, with F(s) the share within s, the share within the curve is (1 / 2 pi) times the integral
of F(s) dphi along it (polar angle phi about the law's centre; Green's theorem). Where the centre is outside, the
two sides cancel as they must."""

import numpy as np

TWO_PI = 2 * np.pi


def share_within(x, y, law):
    """x, y: points of a closed curve, last axis, in order, not repeated. law(s2): share within s, of its
    square."""
    angle = np.unwrap(np.arctan2(y, x), axis=-1)
    ends = angle[..., :1] + TWO_PI * np.round((angle[..., -1:] - angle[..., :1]) / TWO_PI)
    share = law(x * x + y * y)
    turn = np.diff(np.concatenate([angle, ends], axis=-1), axis=-1)
    following = np.roll(share, -1, axis=-1)
    return np.abs(np.sum((share + following) / 2 * turn, axis=-1)) / TWO_PI


def disc_law(size):
    return lambda s2: np.minimum(s2 / size**2, 1)


def gaussian_law(size):
    """Gaussian of rms `size` on each axis."""
    return lambda s2: -np.expm1(-s2 / (2 * size**2))


def nodes(low, high, count, pieces=1):
    """Gauss-Legendre points and weights on [low, high], cut into pieces."""
    u, w = np.polynomial.legendre.leggauss(count)
    edges = np.linspace(low, high, pieces + 1)
    half = np.diff(edges) / 2
    middle = (edges[1:] + edges[:-1]) / 2
    return (middle[:, None] + half[:, None] * u).ravel(), (half[:, None] * w).ravel()


def semicircle_within(t, size):
    """Share of an even disc's light, projected on one plane, with |t| below t: twice its distribution minus one."""
    u = np.clip(t / size, -1, 1)
    return 2 / np.pi * (np.arcsin(u) + u * np.sqrt(1 - u * u))
