"""Compound parabolic concentrators, traced ray by ray in numpy. Walls come from the polar equation of the parabola
about the exit's edge, a ray meets them by bisection along itself; nothing is shared with the engine but the edge-ray
principle."""

import numpy as np
from scipy import stats


class Concentrator:
    def __init__(self, half_angle, exit_half, round_, height=None):
        self.angle, self.e, self.round = half_angle, exit_half, round_
        self.f = exit_half * (1 + np.sin(half_angle))
        full = (exit_half + exit_half / np.sin(half_angle)) / np.tan(half_angle)
        self.height = full if height is None else height
        self.entrance = self.polar_point(self.polar_angle_at(self.height))[0]

    def polar_point(self, a):
        """Half width and height where the line from the exit's other edge is at the angle a from the axis."""
        rho = 2 * self.f / (1 - np.cos(a))
        return rho * np.sin(a - self.angle) - self.e, rho * np.cos(a - self.angle)

    def polar_angle_at(self, height):
        low, high = 2 * self.angle, np.pi / 2 + self.angle
        for _ in range(100):
            a = (low + high) / 2
            low, high = (a, high) if self.polar_point(a)[1] > height else (low, a)
        return low

    def outside(self, r, z):
        """|FP| - (P - F) . axis - 2 f, below 0 inside; F = (-e, 0)."""
        along = -np.sin(self.angle) * (r + self.e) + np.cos(self.angle) * z
        return np.hypot(r + self.e, z) - along - 2 * self.f

    def across(self, p):
        return np.hypot(p[:, 0], p[:, 1]) if self.round else np.abs(p[:, 0])

    def normal(self, p):
        """Inward, from the gradient of outside()."""
        r, z = self.across(p), p[:, 2]
        far = np.hypot(r + self.e, z)
        d_r = (r + self.e) / far + np.sin(self.angle)
        d_z = z / far - np.cos(self.angle)
        out = np.empty_like(p)
        if self.round:
            out[:, 0], out[:, 1] = d_r * p[:, 0] / r, d_r * p[:, 1] / r
        else:
            out[:, 0], out[:, 1] = d_r * np.sign(p[:, 0]), 0
        out[:, 2] = d_z
        return -out / np.linalg.norm(out, axis=1)[:, None]

    def follow(self, p, d, most=2000):  # light that creeps along the wall near the rim takes hundreds
        """Number of reflections before the exit; -1 for a ray that comes out by the entrance again."""
        count, result = np.zeros(len(p), int), np.full(len(p), -2)
        alive = np.arange(len(p))
        for _ in range(most):
            if not len(alive):
                break
            q, v = p[alive], d[alive]
            # As far as the exit's or the entrance's plane; inside there, the ray has left by it.
            with np.errstate(divide="ignore"):
                end = np.where(v[:, 2] < 0, -q[:, 2] / v[:, 2], (self.height - q[:, 2]) / v[:, 2])
            end = np.minimum(end, 4 * self.height + 4 * self.entrance)
            at_end = q + end[:, None] * v
            leaves = self.outside(self.across(at_end), at_end[:, 2]) <= 0
            result[alive[leaves & (v[:, 2] < 0)]] = count[alive[leaves & (v[:, 2] < 0)]]
            result[alive[leaves & (v[:, 2] >= 0)]] = -1
            alive, q, v, high = alive[~leaves], q[~leaves], v[~leaves], end[~leaves]
            if not len(alive):
                break
            low = np.zeros_like(high)
            for _ in range(60):
                middle = (low + high) / 2
                at = q + middle[:, None] * v
                is_out = self.outside(self.across(at), at[:, 2]) > 0
                low, high = np.where(is_out, low, middle), np.where(is_out, middle, high)
            at = q + low[:, None] * v  # the last point inside
            n = self.normal(at)
            p[alive], d[alive] = at, v - 2 * np.sum(v * n, axis=1)[:, None] * n
            count[alive] += 1
        return result


def entering(concentrator, count, angle, seed):
    """Parallel light at an angle to the axis, even over the entrance: scrambled Sobol points."""
    with_points = stats.qmc.Sobol(2, seed=np.random.default_rng(seed)).random(count)
    p, d = np.empty((count, 3)), np.empty((count, 3))
    a = concentrator.entrance
    if concentrator.round:
        r, turn = a * np.sqrt(with_points[:, 0]), 2 * np.pi * with_points[:, 1]
        p[:, 0], p[:, 1] = r * np.cos(turn), r * np.sin(turn)
    else:
        p[:, 0], p[:, 1] = a * (2 * with_points[:, 0] - 1), 0
    p[:, 2] = concentrator.height
    d[:] = [np.sin(angle), 0, -np.cos(angle)]
    return p, d


def transmission(concentrator, angle, reflectance, seed, count=1 << 15, repeats=8):
    """Share of the light that comes to the exit, its mean number of reflections, the share's standard error."""
    shares, numbers = [], []
    for repeat in range(repeats):
        n = concentrator.follow(*entering(concentrator, count, angle, [seed, repeat]))
        assert not np.any(n == -2)
        shares.append(np.mean(np.where(n >= 0, reflectance ** np.maximum(n, 0), 0.0)))
        numbers.append(np.mean(n[n >= 0]) if np.any(n >= 0) else np.nan)
    return np.mean(shares), np.mean(numbers), np.std(shares, ddof=1) / np.sqrt(repeats)
