import numpy as np
from book import dish
from book.reference import disc_law, nodes, semicircle_within

title = "Étendue: limits, plateau and intercept of perfect dishes and troughs under an even sun disc"
source = (
    "conservation of radiance (A. Rabl, Comparison of solar concentrators, Solar Energy 18, 1976, 93), "
    "quadrature over mirror points in book/dish.py"
)
known = "derived and computed here; the paper cited from memory"
tolerance = (
    "Monte Carlo: |z| < 4. The quadrature errs by less than 3e-5: it leaves out the slant of the sun's rays over the "
    "mirror, which is of second order in the sun's size. A receiver that is just large enough for all light must catch "
    "all light: exactly 1."
)
fast = True

F, T = 10.0, 4.65e-3
S = np.sin(T)
HOLE = 0.4  # radius: wider than the shadow of the largest receiver here
# Rabl's figures, worked out for this sun; typed in, so that a slip of the formulae here shows.
LIMIT_2D, LIMIT_3D = 215.055, 46248.5


def run(case):
    case.check("limit of concentration, 2-D: 1 / sin T", LIMIT_2D, 1 / S, 6e-4)
    case.check("limit of concentration, 3-D: 1 / sin^2 T", LIMIT_3D, 1 / S**2, 0.06)
    axes = case.figure("Share of the light within a radius of the focal plane: engine (points) and quadrature (lines)")
    profile = case.figure("Flux in the focal plane over the radius: engine's map (points) and quadrature (lines)")
    for rim_deg in (30, 45, 60, 90):
        dishes(case, rim_deg, axes, profile)
    for drawn, word in ((axes, "share of the light"), (profile, "concentration")):
        drawn.set(xlabel="radius / (f tan T), T = angle from the sun's centre to its edge", ylabel=word)
        drawn.legend()
    for rim_deg in (45, 60, 90):
        troughs(case, rim_deg)


def dishes(case, rim_deg, axes, profile):
    rim = np.radians(rim_deg)
    outer = dish.rim_radius(rim, F)
    size = dict(outer=2 * outer, inner=2 * HOLE)
    edge = F * np.tan(T)
    hole_psi = 2 * np.arctan(HOLE / (2 * F))
    plateau = (np.sin(rim) ** 2 - np.sin(hole_psi) ** 2) / S**2

    disc = f'{{ kind = "disc", diameter_m = {2 * 0.99 * edge} }}'
    got = case.trace(f"plateau {rim_deg}", samples=1 << 19, shape=disc, flux="", **size)
    mean = got.receiver("target", "mean_concentration")
    case.compare(f"plateau, rim {rim_deg} deg: (sin^2 rim - sin^2 hole) / sin^2 T", plateau, mean)
    case.between(f"mean below the limit, rim {rim_deg} deg", 0, 1 / S**2 + 4 * mean.standard_error, mean.value)

    chosen = (0.6, 1.0, 1.3, 2.0)
    for share in chosen:
        disc = f'{{ kind = "disc", diameter_m = {2 * share * edge} }}'
        got = case.trace(f"intercept {rim_deg} {share}", shape=disc, flux="", **size)
        expected = dish.intercept_sun(F, HOLE, outer, share * edge, disc_law(S))
        estimate = got.receiver("target", "intercept_factor")
        case.compare(f"intercept, rim {rim_deg} deg, radius {share} f tan T", expected, estimate)
        axes.errorbar(share, estimate.value, 4 * estimate.standard_error, fmt="ko", ms=4)
    line = np.linspace(0.05, 2.5, 60)
    axes.plot(
        line,
        [dish.intercept_sun(F, HOLE, outer, u * edge, disc_law(S), 512, 12, 3) for u in line],
        label=f"rim {rim_deg} deg",
    )

    if rim_deg < 90:  # at 90 degrees light comes in level and no flat receiver catches all
        catch_all(case, rim, rim_deg, outer, size)

    disc = f'{{ kind = "disc", diameter_m = {2 * 2.5 * edge} }}'
    got = case.trace(f"map {rim_deg}", samples=1 << 20, shape=disc, flux="flux = { bins = [100, 100] }", **size)
    flux, _, area, x, y = got.flux("target")
    radius = np.hypot(*np.meshgrid((x[1:] + x[:-1]) / 2, (y[1:] + y[:-1]) / 2, indexing="ij"))
    bins = np.linspace(0, 2.4 * edge, 25)
    which = np.digitize(radius, bins)
    whole = np.isfinite(flux) & (area > 0)
    means = [np.average(flux[(which == k) & whole], weights=area[(which == k) & whole]) for k in range(1, len(bins))]
    middle = (bins[1:] + bins[:-1]) / 2
    profile.plot(middle / edge, means, "k.", ms=4)
    profile.plot(middle / edge, dish.flux_profile(F, HOLE, outer, middle, S), label=f"rim {rim_deg} deg")


def catch_all(case, rim, rim_deg, outer, size):
    """Flat: the image of the rim reaches f / cos^2 (rim / 2) sin T / cos(rim + T); round: f / cos^2 (rim / 2) sin T."""
    far = F / np.cos(rim / 2) ** 2
    flat, ball = far * S / np.cos(rim + T), far * S
    hole_share = (HOLE / outer) ** 2
    for word, radius, expected, shape in (
        ("flat", flat, (np.sin(rim) * np.cos(rim + T) / S) ** 2, "disc"),
        ("ball", ball, np.sin(rim) ** 2 / (4 * S**2), "ball"),
    ):
        r = 1.00001 * radius
        keys = f"diameter_m = {2 * r}" if shape == "disc" else f"radius_m = {r}"
        got = case.trace(f"all {word} {rim_deg}", shape=f'{{ kind = "{shape}", {keys} }}', flux="", **size)
        case.check(
            f"{word} receiver just large enough for all light, rim {rim_deg} deg: intercept",
            1,
            got.receiver("target", "intercept_factor").value,
            1e-12,
        )
        mean = got.receiver("target", "mean_concentration")
        case.compare(
            f"{word} receiver just large enough for all light, rim {rim_deg} deg: concentration",
            expected / 1.00001**2 * (1 - hole_share),
            mean,
        )


def troughs(case, rim_deg):
    rim, inner = np.radians(rim_deg), 0.12
    outer = 2 * np.tan(rim / 2)
    size = dict(wing=outer - inner, middle=(outer + inner) / 2)
    far = 1 / np.cos(rim / 2) ** 2
    mount = 'mount = { kind = "fixed", position_m = [0, 0, 1], axis = [0, 1, 0] }'
    x, w = nodes(inner, outer, 20, 6)
    for share in (0.4, 0.7, 1.0001):
        r = share * far * S
        tube = f'shape = {{ kind = "cylinder", radius_m = {r}, length_m = 12 }}\n{mount}'
        got = case.trace(f"tube {rim_deg} {share}", "trough.toml", receiver=tube, **size)
        rho = 1 + x * x / 4
        expected = np.sum(w * semicircle_within(r / rho, S)) / (outer - inner)
        case.compare(
            f"trough, tube of {share} rho sin T, rim {rim_deg} deg: intercept",
            expected,
            got.receiver("target", "intercept_factor"),
        )
    case.check(
        f"trough, rim {rim_deg} deg: W / (2 pi r) of that tube is sin rim / (pi sin T)",
        np.sin(rim) / (np.pi * S),
        2 * outer / (2 * np.pi * far * S),
        1e-9,
    )
    if rim_deg == 90:
        return
    half = 1.00001 * far * S / np.cos(rim + T)
    strip = (
        f'shape = {{ kind = "plane" }}\naperture = {{ kind = "rectangle", width_m = {2 * half}, length_m = 12 }}\n'
        'mount = { kind = "fixed", position_m = [0, 0, 1], axis = [0, 0, -1] }'
    )
    got = case.trace(f"strip {rim_deg}", "trough.toml", receiver=strip, **size)
    # The mirror is 10 m long, the strip 12 m, and two gaps of the mirror are dark.
    expected = np.sin(rim) * np.cos(rim + T) / S / 1.00001 * (1 - inner / outer) * 10 / 12
    case.check(
        f"trough, strip just wide enough for all light, rim {rim_deg} deg: intercept",
        1,
        got.receiver("target", "intercept_factor").value,
        1e-12,
    )
    case.compare(
        f"trough, strip just wide enough for all light, rim {rim_deg} deg: concentration",
        expected,
        got.receiver("target", "mean_concentration"),
    )
    peak = 0.02 * T
    strip = strip.replace(f"width_m = {2 * half}", f"width_m = {2 * peak}")
    got = case.trace(f"peak {rim_deg}", "trough.toml", samples=1 << 20, receiver=strip, **size)
    # Seen from the line's middle the light is spread evenly over the mirror's angle psi, at the semicircle's top; the
    # mean over +-0.02 of the half-width loses 7e-5 of it.
    whole = 4 * (np.sin(rim) - np.sin(2 * np.arctan(inner / 2))) / (np.pi * S)
    case.compare(
        f"trough, peak on the focal plane, rim {rim_deg} deg: 4 sin rim / (pi sin T)",
        whole * 10 / 12 * (1 - 7e-5),
        got.receiver("target", "mean_concentration"),
    )
