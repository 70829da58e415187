"""A sphere of radius 1 about the origin, light along -z, and the mirror that brings it to the focus (0, 0, z_focus).
All paths from a level plane by way of the primary and the secondary to the focus are equally long (Fermat), which
gives the secondary point by point; t is the polar angle of the primary's point. Derived here:

  M = (sin t, -cos t), d = (-sin 2t, cos 2t), w = M - F, B = K - cos t, K = 1 + (1 + v) + |v - z_focus|
  S = M + T d with |S - F| = B - T, hence T = (B^2 - |w|^2) / (2 (w . d + B))"""

import numpy as np
from book.reference import nodes


def section(t, z_focus, v):
    """Secondary's point (radius, z) and the unit direction d of the light that meets it. v: height of its vertex."""
    t = np.asarray(t, float)
    point = np.stack([np.sin(t), -np.cos(t)], axis=-1)
    d = np.stack([-np.sin(2 * t), np.cos(2 * t)], axis=-1)
    w = point - np.array([0, z_focus])
    b = 1 + (1 + v) + abs(v - z_focus) - np.cos(t)
    length = (b**2 - np.sum(w * w, axis=-1)) / (2 * (np.sum(w * d, axis=-1) + b))
    return point + length[..., None] * d, d


def _tangent(t, z_focus, v, step=1e-5):
    after, before = section(t + step, z_focus, v)[0], section(t - step, z_focus, v)[0]
    return (after - before) / (2 * step)


def bends_wrongly(t, z_focus, v):
    """By how much the reflected light misses the focus, from the surface's own slope (finite differences): shows the
    derivation right without using it twice."""
    s, d = section(t, z_focus, v)
    tangent = _tangent(t, z_focus, v)
    normal = np.stack([-tangent[..., 1], tangent[..., 0]], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    out = d - 2 * np.sum(d * normal, axis=-1, keepdims=True) * normal
    to_focus = np.array([0, z_focus]) - s
    return np.abs(out[..., 0] * to_focus[..., 1] - out[..., 1] * to_focus[..., 0])


def miss(t, sun_x, sun_y, z_focus, v):
    """How far from the focus light passes that comes from the sun's point (sun_x, sun_y, ...) to the primary's point t
    in the plane y = 0, after both mirrors. The place on the secondary is found by Newton's method on the surface of
    revolution: unknown are its own parameter q and the length of the ray."""
    t, sun_x, sun_y = np.broadcast_arrays(t, sun_x, sun_y)
    point = np.stack([np.sin(t), np.zeros_like(t), -np.cos(t)], axis=-1)
    ray = -np.stack([sun_x, sun_y, np.sqrt(1 - sun_x**2 - sun_y**2)], axis=-1)
    ray = ray - 2 * np.sum(ray * point, axis=-1, keepdims=True) * point
    q, length = t.copy(), np.linalg.norm(section(t, z_focus, v)[0] - point[..., ::2], axis=-1)
    for _ in range(8):
        at = point + length[..., None] * ray
        s, slope = section(q, z_focus, v)[0], _tangent(q, z_focus, v)
        # The section's radius is negative where light has crossed the axis: its square is compared.
        f = at[..., 0] ** 2 + at[..., 1] ** 2 - s[..., 0] ** 2
        g = at[..., 2] - s[..., 1]
        f_length, f_q = 2 * (at[..., 0] * ray[..., 0] + at[..., 1] * ray[..., 1]), -2 * s[..., 0] * slope[..., 0]
        g_length, g_q = ray[..., 2], -slope[..., 1]
        determinant = f_length * g_q - f_q * g_length
        length = length - (f * g_q - f_q * g) / determinant
        q = q - (f_length * g - f * g_length) / determinant
    at = point + length[..., None] * ray
    s, slope = section(q, z_focus, v)[0], _tangent(q, z_focus, v)
    outward = at[..., :2] / s[..., :1]  # unit vector along which the section's radius counts
    normal = np.concatenate([-slope[..., 1:] * outward, slope[..., :1]], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    out = ray - 2 * np.sum(ray * normal, axis=-1, keepdims=True) * normal
    to_focus = np.array([0, 0, z_focus]) - at
    return np.linalg.norm(np.cross(to_focus, out), axis=-1)


def intercept(radii, z_focus, v, inner, outer, sun, points=40, around=96):
    """Shares of an even disc's light (direction cosine `sun` at its edge) that pass the focus nearer than radii; the
    primary from the radius inner to outer. For each direction round the sun's centre the miss grows with the distance
    from it, so the distance that just meets is found by interpolation."""
    x, w = nodes(inner, outer, points)
    weight = w * x
    alpha = (np.arange(around) + 0.5) * np.pi / around  # symmetric about the plane y = 0
    s = sun * np.linspace(1 / 48, 1, 48)
    t = np.arcsin(x)
    passes = miss(t[:, None, None], (s * np.cos(alpha[:, None]))[None], (s * np.sin(alpha[:, None]))[None], z_focus, v)
    if np.any(np.diff(passes, axis=-1) <= 0):
        raise ValueError("the miss does not grow with the distance from the sun's centre")
    s, total = np.append(0, s), []
    for radius in radii:
        share = np.zeros_like(x)
        for i, tilt in enumerate(np.tan(t)):
            for j, a in enumerate(alpha):
                just = np.interp(radius, np.append(0, passes[i, j]), s)
                # The light goes as the cosine at the mirror, which leans: 1 - tan t s cos alpha.
                share[i] += just**2 - tilt * np.cos(a) * 2 / 3 * just**3
        total.append(np.sum(weight * share / around / sun**2) / np.sum(weight))
    return np.array(total)
