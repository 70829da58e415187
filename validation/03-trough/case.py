import numpy as np
from book import trough as ref

title = "Parabolic trough: intercept over spread x concentration, flux round a tube and on a plane"
source = (
    "P. Bendt, A. Rabl, H. W. Gaul and K. A. Reed, Optical analysis and optimization of line focus solar collectors, "
    "SERI/TR-34-092 (1979); curves worked out in book/trough.py"
)
known = "derived here, computed here by quadrature; the report cited from memory"
tolerance = (
    "Monte Carlo: |z| < 4. Slopes and the sun's width along the trough change the angle across it in second order, by "
    "2e-5. The reference leaves this out."
)
fast = False

T, INNER = 4.65e-3, 0.12
DISC = 'kind = "disc", half_angle_mrad = 4.65'
JETER = "S. M. Jeter, Solar Energy 37 (1986) 335: flux round the tube, from the same geometry in book/trough.py"
EVANS = "D. L. Evans, Solar Energy 19 (1977) 379: flux on a flat plane, from the same geometry in book/trough.py"
MEMORY = "derived here, computed here by quadrature; the paper cited from memory"


def size(rim_deg):
    outer = 2 * np.tan(np.radians(rim_deg) / 2)
    return dict(wing=outer - INNER, middle=(outer + INNER) / 2)


def tube(radius, bins=""):
    return (
        f'shape = {{ kind = "cylinder", radius_m = {radius}, length_m = 12 }}\n{bins}\n'
        'mount = { kind = "fixed", position_m = [0, 0, 1], axis = [0, 1, 0] }'
    )


def strip(half, bins=""):
    return (
        f'shape = {{ kind = "plane" }}\n{bins}\n'
        f'aperture = {{ kind = "rectangle", width_m = {2 * half}, length_m = 12 }}\n'
        'mount = { kind = "fixed", position_m = [0, 0, 1], axis = [0, 0, -1] }'
    )


def run(case):
    known_points(case)
    tubes(case)
    strips(case)
    round_the_tube(case)
    on_the_plane(case)


def known_points(case):
    """Rim 90 degrees, thin tube, whole mirror: values typed in from an earlier independent quadrature."""
    for spread, expected in ((0.10, 0.99988), (0.20, 0.97394), (0.30, 0.88476), (0.50, 0.67267)):
        sigma = 1e-5
        radius = 4 / (2 * np.pi) * sigma / spread
        got = ref.tube_intercept(1e-12, np.pi / 2, radius, ref.gaussian_within(sigma))
        case.check(
            f"check of the reference: rim 90 deg, sigma C = {spread}",
            expected,
            got,
            6e-6,
            "an earlier quadrature of the universal curve, five digits",
            "computed, typed in",
        )


def tubes(case):
    axes = case.figure(
        "Tube: intercept over total Gaussian spread x concentration: engine (points), quadrature (lines)"
    )
    for rim_deg in (45, 60, 75, 90, 105, 120):
        rim = np.radians(rim_deg)
        width = 4 * np.tan(rim / 2)
        sun, slope, specularity = 2.3e-3, 1.5e-3, 1.0e-3
        sigma = np.sqrt(sun**2 + (2 * slope) ** 2 + specularity**2)
        for spread in (0.15, 0.3, 0.5):
            radius = width * sigma / (2 * np.pi * spread)
            if radius > INNER - 0.03:  # its shadow would reach the mirror
                continue
            got = case.trace(
                f"tube {rim_deg} {spread}",
                word="tube",
                sun='kind = "gaussian", sigma_mrad = 2.3',
                slope=1.5,
                specularity=1.0,
                receiver=tube(radius),
                **size(rim_deg),
            ).receiver("line", "intercept_factor")
            expected = ref.tube_intercept(INNER, rim, radius, ref.gaussian_within(sigma))
            case.compare(f"tube, rim {rim_deg} deg, sigma C = {spread}", expected, got)
            axes.errorbar(spread, got.value, 4 * got.standard_error, fmt="ko", ms=4)
        line = np.linspace(0.05, 0.7, 40)
        law = ref.gaussian_within(sigma)
        axes.plot(
            line,
            [ref.tube_intercept(INNER, rim, width * sigma / (2 * np.pi * s), law) for s in line],
            label=f"rim {rim_deg} deg",
        )
        disc_tube(case, rim_deg)
    axes.set(xlabel="total spread x concentration W / (pi d)", ylabel="intercept factor")
    axes.legend()


def disc_tube(case, rim_deg):
    rim = np.radians(rim_deg)
    radius = 0.5 * np.sin(T) / np.cos(rim / 2) ** 2
    got = case.trace(
        f"disc tube {rim_deg}", word="tube", sun=DISC, slope=0, specularity=0, receiver=tube(radius), **size(rim_deg)
    ).receiver("line", "intercept_factor")
    expected = ref.tube_intercept(INNER, rim, radius, ref.disc_within(np.sin(T)))
    case.compare(f"tube, even sun, rim {rim_deg} deg, half the radius that catches all light", expected, got)


def strips(case):
    axes = case.figure(
        "Strip: intercept over total Gaussian spread x concentration: engine (points), quadrature (lines)"
    )
    for rim_deg in (45, 60, 75):
        rim = np.radians(rim_deg)
        width = 4 * np.tan(rim / 2)
        sigma = np.sqrt(2.3**2 + 9 + 1) * 1e-3
        law = ref.gaussian_within(sigma)
        for spread in (0.15, 0.3, 0.5):
            half = width * sigma / (2 * spread)
            half = min(half, INNER - 0.03)
            got = case.trace(
                f"strip {rim_deg} {spread}",
                word="strip",
                sun='kind = "gaussian", sigma_mrad = 2.3',
                slope=1.5,
                specularity=1.0,
                receiver=strip(half),
                **size(rim_deg),
            ).receiver("line", "intercept_factor")
            at = width * sigma / (2 * half)
            case.compare(
                f"strip, rim {rim_deg} deg, sigma C = {at:.3g}", ref.strip_share(INNER, rim, -half, half, law), got
            )
            axes.errorbar(at, got.value, 4 * got.standard_error, fmt="ko", ms=4)
        line = np.linspace(0.05, 0.7, 40)
        halves = width * sigma / (2 * line)
        axes.plot(line, [ref.strip_share(INNER, rim, -h, h, law) for h in halves], label=f"rim {rim_deg} deg")
    axes.set(xlabel="total spread x concentration W / w", ylabel="intercept factor")
    axes.legend()


def profile(case, word, drawn, share, edges, middles, per, rim_deg, source):
    """share: estimates of each bin's share of the light; per: concentration that a share of 1 makes in a bin."""
    expected = np.array(edges)
    for k, (estimate, want) in enumerate(zip(share, expected)):
        case.compare(f"{word}, rim {rim_deg} deg, bin at {middles[k]:.4g}", want, estimate, source, MEMORY)
    values, errors = [e.value * per for e in share], [4 * e.standard_error * per for e in share]
    edge = np.append(middles - (middles[1] - middles[0]) / 2, middles[-1] * 1.5 - middles[-2] / 2)
    steps = drawn.stairs(expected * per, edge, label=f"quadrature, rim {rim_deg} deg")
    bars = drawn.errorbar(middles, values, errors, fmt=".", label=f"engine, rim {rim_deg} deg, four standard errors")
    bars[0].set_color(steps.get_edgecolor()), [line.set_color(steps.get_edgecolor()) for line in bars[2]]
    drawn.legend()


def round_the_tube(case):
    drawn = case.figure(
        "Flux round a tube: engine's bins (points), quadrature (steps); azimuth 3 pi / 2 faces the mirror"
    )
    for rim_deg in (60, 90):
        rim = np.radians(rim_deg)
        radius, count = 1.3 * np.sin(T) / np.cos(rim / 2) ** 2, 36
        got = case.trace(
            f"round {rim_deg}",
            samples=1 << 20,
            word="flux round a tube",
            sun=DISC,
            slope=0,
            specularity=0,
            receiver=tube(radius, f"flux = {{ bins = [{count}, 1] }}"),
            **size(rim_deg),
        )
        flux, error, area, azimuth, _ = got.flux("line")
        light = 2 * size(rim_deg)["wing"] * 10  # m2
        share = got.estimates(flux * area / light, error * area / light)
        law = ref.disc_within(np.sin(T))

        # The tube's x points west and its y up, so the vertex's side is at 3 pi / 2 of its azimuth.
        def cumulative(a):
            away = np.mod(a - 1.5 * np.pi + np.pi, 2 * np.pi) - np.pi
            return np.sign(away) * ref.tube_distribution(INNER, rim, radius, law, abs(away))

        expected = []
        for low, high in zip(azimuth[:-1], azimuth[1:]):
            difference = cumulative(high - 1e-12) - cumulative(low + 1e-12)
            expected.append(difference)
        middles = (azimuth[1:] + azimuth[:-1]) / 2
        case.check(f"the bins' shares add up, rim {rim_deg} deg", 1, sum(expected), 1e-9, JETER, MEMORY)
        per = light / area.ravel()[0]
        profile(case, "flux round a tube", drawn, share, expected, middles, per, rim_deg, JETER)
    drawn.set(xlabel="azimuth round the tube, rad (3 pi / 2: toward the mirror)", ylabel="concentration")


def on_the_plane(case):
    drawn = case.figure("Flux across the focal plane: engine's bins (points), quadrature (steps)")
    for rim_deg in (45, 75):
        rim = np.radians(rim_deg)
        half, count = 4 * T, 32
        got = case.trace(
            f"plane {rim_deg}",
            samples=1 << 20,
            word="flux on a plane",
            sun=DISC,
            slope=0,
            specularity=0,
            receiver=strip(half, f"flux = {{ bins = [{count}, 1] }}"),
            **size(rim_deg),
        )
        flux, error, area, x, _ = got.flux("line")
        light = 2 * size(rim_deg)["wing"] * 10
        share = got.estimates(flux * area / light, error * area / light)
        law = ref.disc_within(np.sin(T))
        expected = [ref.strip_share(INNER, rim, a, b, law) for a, b in zip(x[:-1], x[1:])]
        profile(
            case,
            "flux on the plane",
            drawn,
            share,
            expected,
            (x[1:] + x[:-1]) / 2,
            light / area.ravel()[0],
            rim_deg,
            EVANS,
        )
    drawn.set(xlabel="distance x from the focal line, m (f = 1 m)", ylabel="concentration")
