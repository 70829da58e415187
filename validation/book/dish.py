"""Paraboloids with a flat round receiver in the focal plane, by quadrature; numpy alone.

Mirror point at the distance x from the axis of z = x^2 / 4f, receiver rim point Q, both exact: the sun's direction
that would reach Q is Q's direction reflected at the mirror's normal, and the normal that would send a given sun's
ray to Q is the bisector of the two. So the receiver's rim, seen in the plane of what strays, needs no tracing."""

import numpy as np

from .reference import nodes, share_within


def rim_radius(rim_rad, f):
    return 2 * f * np.tan(rim_rad / 2)


def _geometry(x, f, r, count):
    phi = (np.arange(count) + 0.5) * 2 * np.pi / count
    rim = np.stack([r * np.cos(phi), r * np.sin(phi), np.full(count, f)], axis=-1)
    point = np.stack([x, np.zeros_like(x), x * x / (4 * f)], axis=-1)
    toward = rim - point[:, None, :]
    toward /= np.linalg.norm(toward, axis=-1, keepdims=True)
    slope = x / (2 * f)
    h = np.sqrt(1 + slope**2)
    zero = np.zeros_like(x)
    normal = np.stack([-slope / h, zero, 1 / h], axis=-1)
    tangent = np.stack([1 / h, zero, slope / h], axis=-1)
    return toward, normal, tangent


def ring_mean(values, x, w, inner, outer):
    return 2 * np.sum(values * x * w) / (outer**2 - inner**2)


def intercept_sun(f, inner, outer, r, law, count=2048, points=20, pieces=6):
    """Perfect mirror, sun of the radial law (of the squared direction cosine). The light from each direction goes as
    the cosine at the mirror, which leans by first order in the sun's size; in a full disc that cancels, and what is
    left is of second order, 1e-5."""
    x, w = nodes(inner, outer, points, pieces)
    toward, normal, _ = _geometry(x, f, r, count)
    cosine = np.sum(toward * normal[:, None, :], axis=-1, keepdims=True)
    sun = 2 * cosine * normal[:, None, :] - toward
    return ring_mean(share_within(sun[..., 0], sun[..., 1], law), x, w, inner, outer)


def intercept_slopes(
    f, inner, outer, r, law, sun=((0.0, 0.0, 1.0),), sun_weights=(1.0,), count=512, points=16, pieces=4
):
    """Slope errors of the radial law (of the squared slope), averaged over the directions of the sun given."""
    x, w = nodes(inner, outer, points, pieces)
    toward, normal, tangent = _geometry(x, f, r, count)
    total = np.zeros_like(x)
    for direction, weight in zip(np.asarray(sun, float), sun_weights):
        bisector = toward + direction
        along = np.sum(bisector * normal[:, None, :], axis=-1)
        a = np.sum(bisector * tangent[:, None, :], axis=-1) / along
        b = bisector[..., 1] / along
        lit = 1 + (direction[0] * normal[:, 0] / normal[:, 2]) / direction[2]  # (s . n) / (cos t cos i)
        total += weight * lit * share_within(a, b, law)
    return ring_mean(total, x, w, inner, outer)


def disc_directions(size, radial=8, around=16):
    """Directions and weights of an even disc whose edge has the direction cosine `size`; half of it, for symmetry."""
    q, wq = nodes(0, 1, radial)
    phi, wphi = nodes(0, np.pi, around)
    s = size * np.sqrt(q)[:, None]
    sun = np.stack([s * np.cos(phi), s * np.sin(phi), np.sqrt(1 - s * s) * np.ones_like(phi)], axis=-1)
    return sun.reshape(-1, 3), (wq[:, None] * wphi / np.pi).ravel()


def flux_profile(f, inner, outer, radii, size, around=720, points=32):
    """Concentration at radii of the focal plane under an even disc (direction cosine `size` at its edge): radiance is
    kept, so it is the projected solid angle of the mirror points that show the sun there, over pi size^2."""
    x, w = nodes(inner, outer, points, 6)
    phi = (np.arange(around) + 0.5) * 2 * np.pi / around
    X, PHI = np.meshgrid(x, phi, indexing="ij")
    point = np.stack([X * np.cos(PHI), X * np.sin(PHI), X * X / (4 * f)], axis=-1)
    area_vector = np.stack([-point[..., 0] / (2 * f), -point[..., 1] / (2 * f), np.ones_like(X)], axis=-1)
    normal = area_vector / np.linalg.norm(area_vector, axis=-1, keepdims=True)
    out = []
    for r in np.atleast_1d(radii):
        toward = np.array([r, 0, f]) - point
        distance2 = np.sum(toward**2, axis=-1)
        toward = toward / np.sqrt(distance2)[..., None]
        cosine = np.sum(toward * normal, axis=-1)
        sun2 = np.sum((2 * cosine[..., None] * normal - toward)[..., :2] ** 2, axis=-1)
        solid = np.sum(toward * area_vector, axis=-1) / distance2 * np.abs(toward[..., 2])
        seen = sun2 < size**2
        out.append(np.sum(np.where(seen, solid, 0) * (X * w[:, None])) * 2 * np.pi / around / (np.pi * size**2))
    return np.array(out)
