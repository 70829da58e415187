"""Radial laws of the sun's light: radiance L over the angle t from its centre, rad, and the share of DNI within t."""

import numpy as np
from book.reference import nodes
from scipy.optimize import brentq

DISC_MRAD, END_MRAD = 4.65, 43.6


def buie_radiance(chi):
    """D. Buie, A. G. Monger and C. J. Dey, Sunshape distributions for terrestrial solar simulations, Solar Energy 74
    (2003) 113."""
    kappa = 0.9 * np.log(13.5 * chi) * chi**-0.3
    gamma = 2.2 * np.log(0.52 * chi) * chi**0.43 - 0.1

    def radiance(t):
        mrad = 1e3 * t
        disc = np.cos(0.326 * mrad) / np.cos(0.308 * mrad)
        aureole = np.exp(kappa) * np.maximum(mrad, 1e-9) ** gamma
        return np.where(mrad <= DISC_MRAD, disc, np.where(mrad <= END_MRAD, aureole, 0))

    return radiance


def limb_darkened(edge):
    """A. N. Cox (ed.), Allen's Astrophysical Quantities, 4th ed. 2000, at 550 nm: 0.30 + 0.93 mu - 0.23 mu^2."""

    def radiance(t):
        mu2 = np.maximum(0, 1 - (np.sin(t) / np.sin(edge)) ** 2)
        return np.where(t <= edge, 0.30 + 0.93 * np.sqrt(mu2) - 0.23 * mu2, 0)

    return radiance


def even(edge):
    return lambda t: np.where(t <= edge, 1.0, 0.0)


def gaussian(sigma):
    return lambda t: np.exp(-np.sin(t) ** 2 / (2 * sigma**2))


def integral(radiance, low, high, weight=lambda t: 1.0):
    """Of L cos t weight over solid angle: what a flat detector that faces the sun counts."""
    if high <= low:
        return 0.0
    t, w = nodes(low, high, 24, 40)
    return np.sum(w * radiance(t) * np.cos(t) * np.sin(t) * weight(t))


def pieces(radiance, breaks, to, weight=lambda t: 1.0):
    edges = [0.0] + [b for b in breaks if b < to] + [to]
    return sum(integral(radiance, a, b, weight) for a, b in zip(edges[:-1], edges[1:]))


def share_within(radiance, breaks, t):
    return pieces(radiance, breaks, min(t, breaks[-1])) / pieces(radiance, breaks, breaks[-1])


def rms_per_axis(radiance, breaks):
    """rms of tan t along one axis, as an image on a wall has it."""
    second = pieces(radiance, breaks, breaks[-1], lambda t: np.tan(t) ** 2)
    return np.sqrt(second / pieces(radiance, breaks, breaks[-1]) / 2)


def circumsolar_ratio(chi):
    return 1 - share_within(buie_radiance(chi), (1e-3 * DISC_MRAD, 1e-3 * END_MRAD), 1e-3 * DISC_MRAD)


def chi_that_delivers(ratio):
    return brentq(lambda chi: circumsolar_ratio(chi) - ratio, 1e-4, 0.9, xtol=1e-12)
