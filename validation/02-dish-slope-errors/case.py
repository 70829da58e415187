import numpy as np
from book import dish
from book.reference import disc_law, gaussian_law

title = "Paraboloid with Gaussian slope errors of 1, 2, 3 and 5 mrad"
source = "law of reflection: integral over the normals that send a ray into the receiver, in book/dish.py"
known = "derived here, computed here by quadrature"
tolerance = "Monte Carlo: |z| < 4. The reference is exact in the slopes; its quadrature errs by less than 1e-5."
fast = False

F, T, HOLE = 10.0, 4.65e-3, 0.6
DISC = 'kind = "disc", half_angle_mrad = 4.65'


def run(case):
    axes = case.figure(
        "Share of the light within a radius, rim 45 deg, even sun and slope errors: engine (points), quadrature (lines)"
    )
    for slope in (1, 2, 3, 5):
        for rim_deg in (30, 45, 60, 90):
            outer = dish.rim_radius(np.radians(rim_deg), F)
            size = dict(outer=2 * outer, inner=2 * HOLE, slope=slope)
            r = 3e-3 * slope * F
            got = case.trace(f"point {rim_deg} {slope}", sun='kind = "point"', diameter=2 * r, **size)
            expected = dish.intercept_slopes(F, HOLE, outer, r, gaussian_law(1e-3 * slope), count=2048, pieces=8)
            case.compare(
                f"point sun, rim {rim_deg} deg, slope {slope} mrad, r / f = {r / F:.3f}",
                expected,
                got.receiver("target", "intercept_factor"),
            )
        together(case, slope, axes)
    axes.set(xlabel="radius / f, mrad", ylabel="share of the light")
    axes.legend(title="slope error")
    departure(case)


def both(rim_deg, slope, r, count=256):
    outer = dish.rim_radius(np.radians(rim_deg), F)
    sun, weights = dish.disc_directions(np.sin(T))
    return dish.intercept_slopes(F, HOLE, outer, r, gaussian_law(1e-3 * slope), sun, weights, count=count)


def together(case, slope, axes):
    for rim_deg in (30, 45, 60):
        outer = dish.rim_radius(np.radians(rim_deg), F)
        for radius in (0.007, 0.012):
            got = case.trace(
                f"disc {rim_deg} {slope} {radius}",
                sun=DISC,
                diameter=2 * radius * F,
                outer=2 * outer,
                inner=2 * HOLE,
                slope=slope,
            )
            estimate = got.receiver("target", "intercept_factor")
            case.compare(
                f"even sun, rim {rim_deg} deg, slope {slope} mrad, r / f = {radius}",
                both(rim_deg, slope, radius * F),
                estimate,
            )
            if rim_deg == 45:
                axes.errorbar(1e3 * radius, estimate.value, 4 * estimate.standard_error, fmt="ko", ms=4)
    line = np.linspace(0.001, 0.03, 15)
    axes.plot(1e3 * line, [both(45, slope, r * F, 96) for r in line], label=f"{slope} mrad")


def departure(case):
    """Beam errors of 2 sigma in the plane of incidence and 2 sigma cos i across it are not a circular 2 sigma."""
    outer = dish.rim_radius(np.radians(45), F)
    got = case.trace(
        "departure", samples=1 << 20, sun=DISC, diameter=2 * 0.010 * F, outer=2 * outer, inner=2 * HOLE, slope=3
    )
    estimate = got.receiver("target", "intercept_factor")
    expected = both(45, 3, 0.010 * F)
    case.compare("even sun, rim 45 deg, slope 3 mrad, r / f = 0.010", expected, estimate)
    sun, weights = dish.disc_directions(np.sin(T))
    # The same receiver under a sun spread by a Gaussian of twice the slope, alike on both axes.
    circular = circular_beam(outer, 0.010 * F, 6e-3)
    case.note(
        f"The law of reflection gives an intercept of {expected:.4f} at rim 45 deg, slope 3 mrad and r / f = 0.010. A "
        f"circular beam error of twice the slope error would give {circular:.4f}. The two differ because the beam "
        "spreads by 2 sigma in the plane of incidence, but only by 2 sigma cos i across it."
    )
    case.between(
        "the engine differs from a circular beam error of 2 sigma: (engine - circular) / error",
        10,
        1e9,
        (estimate.value - circular) / estimate.standard_error,
    )


def circular_beam(outer, r, sigma):
    """Radial law of an even disc blurred by a Gaussian: share within s, by quadrature over the disc (noncentral
    chi-square with two degrees of freedom)."""
    from scipy.stats import ncx2

    from book.reference import nodes

    q, w = nodes(0, 1, 24)
    grid = np.linspace(0, 0.06, 1200)
    law = np.sum(w * ncx2.cdf((grid[:, None] / sigma) ** 2, 2, q * (np.sin(T) / sigma) ** 2), axis=1)
    return dish.intercept_sun(F, HOLE, outer, r, lambda s2: np.interp(np.sqrt(s2), grid, law), 512)
