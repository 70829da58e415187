import numpy as np
import reference as ref

title = "Glass: Fresnel's equations, Snell, Sellmeier, and plates with all their internal reflections"
source = "Fresnel's equations and the plate's series, term by term, in reference.py; Born and Wolf, section 1.5.2"
known = "derived and computed here"
tolerance = (
    "Without randomness: 1e-9 of the light. Indices of the catalogue have five decimals: 4e-6 of the light. The tube's "
    "shadow is found by random samples: |z| < 4."
)
fast = True

CLEAR = "kind = \"glass\"\nrefractive_index = 1.5\nthickness_m = 0.003"
PIPE, TUBE = 0.035, 0.06  # radii, m
IRON = "kind = \"glass\"\nrefractive_index = 1.526\nthickness_m = 0.004\nabsorption_per_m = 32"


def run(case):
    plates(case)
    catalogue(case)
    roof(case)
    tube(case)


def beam(case, label, glass, degrees):
    a = np.radians(degrees)
    got = case.trace(f"beam {label} {degrees}", "beam.toml", samples=1 << 13, glass=glass,
                     axis=f"[{np.sin(a)}, {-np.cos(a)}, 0]")
    incident = got.numbers["incident_power_W"]
    return got.receiver("end", "absorbed_power_W").value / incident, got.budget("cover_loss").value / incident


def plates(case):
    drawn = case.figure("Share of the light that passes a plate: engine (points), the series (lines)")
    for label, glass, numbers in (("clear", CLEAR, (1.5, 0.003, 0)), ("green", IRON, (1.526, 0.004, 32))):
        angles = np.radians(np.linspace(0, 89, 90))
        drawn.plot(np.degrees(angles), [ref.plate(*numbers, a)[0] for a in angles], label=f"{label}, n = {numbers[0]}")
        for degrees in (0, 30, 45, 60, 75, 85):
            want, _ = ref.plate(*numbers, np.radians(degrees))
            passed, lost = beam(case, label, glass, degrees)
            case.check(f"{label} pane at {degrees} deg: passes", want, passed, 1e-9)
            case.check(f"{label} pane at {degrees} deg: cover_loss", 1 - want, lost, 1e-9)
            drawn.plot(degrees, passed, "ko", ms=4)
    drawn.set(xlabel="incidence angle, deg", ylabel="share passed")
    drawn.legend()
    typed = "a clear pane of n = 1.5, closed form, six digits"
    for degrees, want in ((0, 0.923077), (45, 0.907344), (60, 0.848128)):
        passed, _ = beam(case, "typed", CLEAR, degrees)
        case.check(f"clear pane at {degrees} deg, typed in", want, passed, 6e-7, typed, "computed apart, typed in")


def catalogue(case):
    """Straight through a clear pane 2 n / (n^2 + 1) of the light goes, by the series; so the share tells the index."""
    b, c = ref.BK7
    for wavelength, index in ref.CATALOGUE.items():
        keys = [f"b{i + 1} = {b[i]}\nc{i + 1}_um2 = {c[i]}" for i in range(3)]
        glass = "\n".join(['kind = "sellmeier_glass"', *keys, f"wavelength_nm = {wavelength}", "thickness_m = 0.005"])
        passed, _ = beam(case, f"BK7 {wavelength}", glass, 0)
        case.check(f"BK7 at {wavelength} nm: passes", 2 * index / (index**2 + 1), passed, 4e-6,
                   "indices and coefficients of SCHOTT's data sheet of N-BK7", "catalogue values, typed in")


def roof(case):
    """Light that comes to the mirror, and light that falls on the absorber straight from the sun, through a roof."""
    for zenith in (50, 70):
        elevation = 90 - zenith
        got = case.trace(f"roof {zenith}", "roof.toml", samples=1 << 13, elevation=elevation,
                         height=np.tan(np.radians(elevation)))
        want, _ = ref.plate(1.526, 0.004, 12, np.radians(zenith))
        incident = got.numbers["incident_power_W"]
        case.check(f"roof, sun {zenith} deg from the zenith: share absorbed by way of the mirror", want,
                   got.receiver("end", "absorbed_power_W").value / incident, 1e-9)
        case.check(f"roof, sun {zenith} deg from the zenith: cover_loss", 1 - want,
                   got.budget("cover_loss").value / incident, 1e-9)
        case.check(f"roof, sun {zenith} deg from the zenith: shading", 0, got.budget("shading").value / incident, 1e-9)
        straight = 1000 * np.sin(np.radians(zenith))  # on 1 m2 that stands upright, facing south
        case.check(f"roof, sun {zenith} deg from the zenith: share absorbed straight from the sun", want,
                   got.receiver("end", "direct_power_W").value / straight, 1e-9)


def tube(case):
    """A ray to the axis meets a tube about it at the angle that it makes with the cross-section. The pipe shades the
    mirror by its width; what the tube takes from the sun on its way down is part of cover_loss."""
    for zenith in (0, 40, 65):
        got = case.trace(f"tube {zenith}", "tube.toml", samples=1 << 16, elevation=90 - zenith)
        want, _ = ref.plate(1.47, 0.003, 5, np.radians(zenith))
        incident = got.numbers["incident_power_W"]
        # Light that comes down beside the tube; behind it, where the pipe shades, and between them, where light crosses
        # the tube twice more. There x = R sin t makes the integrand smooth up to grazing incidence.
        t, weight = np.polynomial.legendre.leggauss(48)
        low = np.arcsin(PIPE / TUBE)
        t = low + (np.pi / 2 - low) * (t + 1) / 2
        tilted = np.arccos(np.cos(np.radians(zenith)) * np.cos(t))
        twice = [ref.plate(1.47, 0.003, 5, a)[0] ** 2 for a in tilted]
        double = TUBE * (np.pi / 2 - low) / 2 * np.sum(weight * np.cos(t) * twice)
        through = (2 * double + 4 - 2 * TUBE) / 4 * want
        absorbed = got.receiver("pipe", "absorbed_power_W")
        share = absorbed._replace(value=absorbed.value / incident, standard_error=absorbed.standard_error / incident)
        # One coordinate alone matters: half a point a replicate at the edges of the shadows.
        case.compare(f"tube, sun {zenith} deg from its cross-section: absorbed", through, share,
                     resolution=0.5 / 2048 / np.sqrt(32))
        case.check(f"tube, sun {zenith} deg from its cross-section: intercept", 1,
                   got.receiver("pipe", "intercept_factor").value, 1e-9)
        case.check(f"tube, sun {zenith} deg from its cross-section: shading", 2 * PIPE / 4,
                   got.budget("shading").value / incident, 2e-4)
