import numpy as np
import reference as ref
from book.engine import Estimate

title = "Sunshapes: radial profiles, circumsolar ratios, rms widths, limb darkening"
source = "D. Buie, A. G. Monger and C. J. Dey, Solar Energy 74 (2003) 113, formulae in reference.py"
known = "published formulae from memory; integrals computed here"
tolerance = (
    "Monte Carlo: |z| < 4. A tiny mirror throws the sun's image on a wall. Seen from the wall the mirror is 1e-6 rad "
    "wide, so it does not blur the image. Its slant changes the brightness of each direction, but not the mean round a "
    "circle."
)
fast = False

L = 1000.0
EDGE = 4.65e-3
ALLEN = "A. N. Cox (ed.), Allen's Astrophysical Quantities, 4th ed. 2000, limb darkening at 550 nm"


def wall(half):
    side = 2 * half
    return f'shape = {{ kind = "plane" }}\naperture = {{ kind = "rectangle", width_m = {side}, length_m = {side} }}'


def run(case):
    # Typed in from an earlier independent integration: chi is not the ratio that it delivers.
    for chi, ratio in ((0.05, 0.0431), (0.20, 0.1871)):
        case.check(f"circumsolar ratio that chi = {chi} delivers", ratio, ref.circumsolar_ratio(chi), 6e-5)
    drawn = case.figure("Share of DNI beyond an angle: engine (points) and the integral of the radial law (lines)")
    for ratio in (0.01, 0.05, 0.1, 0.2, 0.4):
        buie(case, ratio, drawn)
    drawn.set(xlabel="angle from the sun's centre, mrad", ylabel="share of DNI beyond", yscale="log", ylim=(1e-4, 1))
    drawn.legend(title="circumsolar ratio")
    limb(case)
    widths(case)


def buie(case, ratio, drawn):
    law = ref.buie_radiance(ref.chi_that_delivers(ratio))
    breaks = (1e-3 * ref.DISC_MRAD, 1e-3 * ref.END_MRAD)
    sun = f'kind = "buie", circumsolar_ratio = {ratio}'
    disc = f'shape = {{ kind = "disc", diameter_m = {2 * L * np.tan(EDGE)} }}'
    got = case.trace(f"ratio {ratio}", sun=sun, shape=disc, bins=8)
    inside = got.receiver("wall", "intercept_factor")
    case.compare(f"Buie {ratio}: DNI within 4.65 mrad", 1 - ratio, inside)
    whole = case.trace(f"profile {ratio}", samples=1 << 19, sun=sun, shape=wall(L * np.tan(44e-3)), bins=200)
    case.check(f"Buie {ratio}: DNI within 43.6 mrad", 1, whole.receiver("wall", "intercept_factor").value, 1e-9)
    radius, share = whole.enclosed("wall")
    angle = np.arctan(radius / L)
    for want in (2e-3, 4e-3, 6e-3, 10e-3, 20e-3, 35e-3):
        k = int(np.argmin(np.abs(angle - want)))
        case.compare(
            f"Buie {ratio}: share within {1e3 * angle[k]:.3f} mrad", ref.share_within(law, breaks, angle[k]), share[k]
        )
    keep = angle < breaks[1]
    line = drawn.plot(1e3 * angle[keep], [1 - ref.share_within(law, breaks, a) for a in angle[keep]], label=f"{ratio}")
    some = np.flatnonzero(keep)[::6]
    drawn.plot(1e3 * angle[some], [1 - share[k].value for k in some], "o", ms=3, color=line[0].get_color())


def limb(case):
    law = ref.limb_darkened(EDGE)
    sun = 'kind = "limb_darkened", half_angle_mrad = 4.65'
    got = case.trace("limb profile", samples=1 << 19, sun=sun, shape=wall(L * np.tan(4.8e-3)), bins=100)
    radius, share = got.enclosed("wall")
    angle = np.arctan(radius / L)
    for want in (1e-3, 2e-3, 3e-3, 4e-3, 4.5e-3):
        k = int(np.argmin(np.abs(angle - want)))
        case.compare(
            f"limb darkened: share within {1e3 * angle[k]:.3f} mrad",
            ref.share_within(law, (EDGE,), angle[k]),
            share[k],
            ALLEN,
        )
    # Mean over centre 0.30 + 0.93 x 2/3 - 0.23 / 2 = 0.805: so much brighter than an even disc is the middle.
    radius = 0.02 * L * np.tan(EDGE)
    centre = case.trace(
        "limb centre", samples=1 << 20, sun=sun, shape=f'shape = {{ kind = "disc", diameter_m = {2 * radius} }}', bins=1
    )
    case.compare(
        "limb darkened: share within 0.02 of the disc's radius",
        0.02**2 / 0.805,
        centre.receiver("wall", "intercept_factor"),
        ALLEN,
    )


def widths(case):
    """From the second moment of the image about its bins' centres, less width^2 / 12 (W. F. Sheppard's correction for
    grouping, 1898: each of these images fades out across the wall). Eight seeds give the error."""
    both = (1e-3 * ref.DISC_MRAD, 1e-3 * ref.END_MRAD)
    for word, sun, law, breaks, source in (
        ("even disc", 'kind = "disc", half_angle_mrad = 4.65', ref.even(EDGE), (EDGE,), "closed form: T / 2 per axis"),
        ("limb darkened", 'kind = "limb_darkened", half_angle_mrad = 4.65', ref.limb_darkened(EDGE), (EDGE,), ALLEN),
        ("Gaussian 3 mrad", 'kind = "gaussian", sigma_mrad = 3', ref.gaussian(3e-3), (0.025,), "the definition"),
        (
            "Buie 0.05",
            'kind = "buie", circumsolar_ratio = 0.05',
            ref.buie_radiance(ref.chi_that_delivers(0.05)),
            both,
            None,
        ),
        (
            "Buie 0.2",
            'kind = "buie", circumsolar_ratio = 0.2',
            ref.buie_radiance(ref.chi_that_delivers(0.2)),
            both,
            None,
        ),
    ):
        half, bins = 1.01 * L * np.tan(breaks[-1]), 160
        found = []
        for k in range(8):
            got = case.trace(f"rms {word} {k}", samples=1 << 16, sun=sun, shape=wall(half), bins=bins)
            flux, _, area, x, y = got.flux("wall")
            x, y = np.meshgrid((x[1:] + x[:-1]) / 2, (y[1:] + y[:-1]) / 2, indexing="ij")
            width = 2 * half / bins
            found.append(
                np.sqrt(np.sum(flux * area * ((x**2 + y**2) / 2 - width**2 / 12)) / np.sum(flux * area)) / L
            )
        estimate = Estimate(1e3 * np.mean(found), 1e3 * np.std(found, ddof=1) / np.sqrt(8), f"rms {word}", 8)
        case.compare(f"{word}: rms per axis, mrad", 1e3 * ref.rms_per_axis(law, breaks), estimate, source)
