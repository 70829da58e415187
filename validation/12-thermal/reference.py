"""The best temperature of a receiver, two ways that share nothing: the positive root of a polynomial for a black one
that loses by radiation alone, and a search along the temperature for any other."""

import numpy as np
from scipy import constants, optimize

SIGMA = constants.Stefan_Boltzmann


def black(concentration, irradiance=1000, cold=300, with_sky=True):
    """T^5 - 3/4 T0 T^4 - T0 (C I + sigma T0^4) / (4 sigma) = 0; without the surroundings' own radiation the last sum
    has its first term alone."""
    taken = concentration * irradiance + (SIGMA * cold**4 if with_sky else 0)
    roots = np.roots([1, -0.75 * cold, 0, 0, 0, -cold * taken / (4 * SIGMA)])
    return max(r.real for r in roots if abs(r.imag) < 1e-6 * abs(r))


def loss(T, emittance, convection, cold):
    return emittance * SIGMA * (T**4 - cold**4) + convection * (T - cold)


def best(flux, emittance, convection, cold):
    """Temperature and work of a square metre."""
    work = lambda T: -(flux - loss(T, emittance, convection, cold)) * (1 - cold / T)  # noqa: E731
    found = optimize.minimize_scalar(work, bounds=(cold, 6000), method="bounded", options={"xatol": 1e-9})
    return found.x, -found.fun
