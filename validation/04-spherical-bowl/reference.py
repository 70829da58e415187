"""A sphere of radius 1 and a rod of radius a on the axis, light along the axis: plane geometry of one circle. Light met
at the polar angle th arrives in proportion to d(sin^2 th)."""

import numpy as np
from scipy.optimize import brentq


def height(th, a):
    """Distance below the centre at which light reflected once at th meets the rod's wall."""
    return np.cos(th) - (np.sin(th) - a) * np.cos(2 * th) / np.sin(2 * th)


def highest_power(z, a, low, high):
    """sin^2 of the th, between low and high, whose light lands at the distance z below the centre; z grows with th."""
    if z <= height(low, a):
        return np.sin(low) ** 2
    if z >= height(high, a):
        return np.sin(high) ** 2
    return np.sin(brentq(lambda th: height(th, a) - z, low, high, xtol=1e-14)) ** 2


def thin_concentration(z, a):
    """The rod without thickness: z = 1 / (2 cos th), concentration 2 cos^3 th / a."""
    return 2 / a * (1 / (2 * z)) ** 3


def thin_limits(k):
    """th up to which k reflections bring light to a thin rod: 180 k / (2 k + 1) degrees."""
    return np.pi * k / (2 * k + 1)


def reflections(th, a):
    """How often light that comes down at th meets the mirror before the rod, which reaches from the centre to the
    vertex. In the plane of incidence the rod is the strip |x| < a, and each chord turns the place where it meets the
    circle by pi - 2 th: the first chord that ends within a of the axis, or beyond it, meets the rod."""
    at, met = np.array(th, float), np.zeros(np.shape(th), int)
    turn = np.pi - 2 * at
    free = np.ones(np.shape(th), bool)
    while np.any(free):
        met += free
        at = at - turn
        free = free & (np.sin(at) >= a)
    return met
