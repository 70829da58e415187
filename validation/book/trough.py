"""A trough in its cross-section, f = 1. A mirror point seen from the focus at the angle psi from the axis stands at
x = 2 tan(psi / 2), rho = 1 / cos^2(psi / 2) away. A ray at the transverse angle t off the central one passes the focus
at the distance rho sin t and meets the focal plane at rho sin t / cos(psi + t)."""

import numpy as np
from .reference import nodes, semicircle_within
from scipy.special import erf


def gaussian_within(sigma):
    return lambda t: erf(t / (sigma * np.sqrt(2)))


def disc_within(size):
    """An even disc of half-angle asin(size), seen across the trough."""
    return lambda t: semicircle_within(np.sin(t), size)


def _points(inner, rim_rad):
    outer = 2 * np.tan(rim_rad / 2)
    x, w = nodes(inner, outer, 20, 30)
    return 1 + x * x / 4, 2 * np.arctan(x / 2), w / (outer - inner)


def tube_intercept(inner, rim_rad, radius, within):
    """Share that a tube of this radius catches; within(t): share of light less than t off the central ray."""
    rho, _, w = _points(inner, rim_rad)
    return np.sum(w * within(np.arcsin(np.minimum(1, radius / rho))))


def _plane_angle(rho, psi, y):
    """Angle t of the ray that meets the focal plane at y, counted so that larger t is larger y."""
    return np.arctan2(y * np.cos(psi), rho + y * np.sin(psi))


def strip_share(inner, rim_rad, low, high, within):
    """Share that lands between low and high of the focal plane, both wings."""
    rho, psi, w = _points(inner, rim_rad)

    def below(t):  # distribution of t from that of its size
        return (1 + np.sign(t) * within(np.abs(t))) / 2

    one = below(_plane_angle(rho, psi, high)) - below(_plane_angle(rho, psi, low))
    other = below(_plane_angle(rho, psi, -low)) - below(_plane_angle(rho, psi, -high))
    return np.sum(w * (one + other)) / 2


def tube_distribution(inner, rim_rad, radius, within, angle):
    """Share of the light that meets the tube between the point nearest the mirror's vertex and `angle` round it, up to
    pi, on the side of one wing (both wings light it). The ray that passes the focus at b = rho sin t meets the wall at
    asin(b / radius) + t round from the foot of its mirror point, which stands at psi."""
    rho, psi, w = _points(inner, rim_rad)

    def below(t):
        return (1 + np.sign(t) * within(np.abs(t))) / 2

    def up_to(limit):
        """Share of one wing's light that meets the wall at less than `limit`, counted from the vertex's side."""
        want = limit - psi  # solve asin(rho sin t / radius) - t = want; the ray turns by t itself
        most = np.arcsin(np.minimum(1, radius / rho))
        low, high = -most, most + 0
        for _ in range(60):
            middle = (low + high) / 2
            too_far = np.arcsin(np.clip(rho * np.sin(middle) / radius, -1, 1)) - middle > want
            high, low = np.where(too_far, middle, high), np.where(too_far, low, middle)
        return np.sum(w * below((low + high) / 2))

    # By symmetry the other wing's light at -angle; the share between -angle and angle, halved.
    return (up_to(angle) - up_to(-angle)) / 2
