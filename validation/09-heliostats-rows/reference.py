"""Heliostats and rows in closed form; one spherical mirror ray by ray on an even grid of points."""

import numpy as np


def unit(v):
    return np.asarray(v, float) / np.linalg.norm(v)


def direction(azimuth_deg, elevation_deg):
    a, e = np.radians([azimuth_deg, elevation_deg])
    return np.array([np.cos(e) * np.sin(a), np.cos(e) * np.cos(a), np.sin(e)])


def landing(elevation_deg, side, radius, distance, count=2000):
    """Where an even grid of a square heliostat's points sends the sun's central ray, on the wall: x, z. The sun and
    the target stand in the north, the target at the mirror's height. The points are even in the outline, whose light
    goes as the cosine: each point's weight is (s . n) / (n . axis)."""
    sun, target = direction(0, elevation_deg), np.array([0.0, 1.0, 0.0])
    axis = unit(sun + target)
    right = np.array([1.0, 0.0, 0.0])
    up = np.cross(axis, right)
    u = ((np.arange(count) + 0.5) / count - 0.5) * side
    u, v = np.meshgrid(u, u, indexing="ij")
    sag = radius - np.sqrt(radius**2 - u**2 - v**2)
    point = u[..., None] * right + v[..., None] * up + sag[..., None] * axis
    normal = (radius * axis - point) / radius
    cosine = normal @ sun
    out = 2 * cosine[..., None] * normal - sun
    t = (distance - point[..., 1]) / out[..., 1]
    land = point + t[..., None] * out
    return land[..., 0].ravel(), land[..., 2].ravel(), (cosine / (normal @ axis)).ravel()


def share(land, width, height):
    x, z, weight = land
    return float(np.sum(weight * ((np.abs(x) < width / 2) & (np.abs(z) < height / 2))) / np.sum(weight))


def shadow(s, d, n):
    """Middle of the front mirror's shadow along s on the rear one's face: right, up."""
    q = d - np.dot(d, n) / np.dot(s, n) * s
    right = unit(np.cross([0, 0, 1], n))
    return np.dot(q, right), np.dot(q, np.cross(n, right))


def common_area(width, height, middles):
    """Of rectangles of one size, parallel, by their middles, and one at the origin."""
    middles = np.array([(0.0, 0.0), *middles])
    across = width - np.ptp(middles[:, 0])
    up = height - np.ptp(middles[:, 1])
    return max(0.0, across) * max(0.0, up)
