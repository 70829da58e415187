import numpy as np
import reference as ref

title = "The corrector of a sphere: point focus, and its blur under a real sun"
source = "equal optical paths (Fermat) and both reflections, ray by ray, in reference.py"
known = "derived and computed here"
tolerance = (
    "Point sun: all light passes the focus within 5e-6 of the sphere's radius, exactly. Even sun disc: |z| < 4; the "
    "quadrature errs by less than 3e-5. Coordinates that are typed in have twelve digits: 1e-11."
)
fast = True

R, T = 20.0, 4.65e-3
# Focus and vertex, heights from the sphere's centre in radii; the beam's radius; the hole's: wider than the shadow.
CUP = ("focus in the centre", 0.0, 0.06, 0.40, 0.24)
BEYOND = ("beyond the paraxial focus", -0.60, -0.40, 0.50, 0.20)
BEFORE = ("before the paraxial focus", -1.10, -0.70, 0.50, 0.20)


def keys(z_focus, v, beam, inner, radius, sun, outer=None):
    outer = outer or 0.98 * beam  # the sun's edge must still meet the corrector
    return dict(
        focus=R * (1 + z_focus),
        through=R * (1 + v),
        beam=2 * R * beam,
        outer=2 * R * outer,
        inner=2 * R * inner,
        radius=R * radius,
        sun=sun,
    )


def run(case):
    points(case)
    for word, z_focus, v, beam, inner in (CUP, BEYOND, BEFORE):
        t = np.linspace(0.02, np.arcsin(beam), 60)
        case.check(
            f"{word}: check of the reference: largest miss of the focus, from the slope of the reference's mirror",
            0,
            np.max(ref.bends_wrongly(t, z_focus, v)),
            1e-8,
        )
        got = case.trace(f"point {word}", **keys(z_focus, v, beam, inner, 5e-6, 'kind = "point"'))
        case.check(
            f"{word}: point sun, share within 5e-6 R of the focus",
            1,
            got.receiver("focus", "intercept_factor").value,
            1e-12,
        )
        case.check(f"{word}: shading, W", 0, got.budget("shading").value, 1)
    blur(case)


def points(case):
    """Coordinates typed in from an earlier derivation and its program."""
    origin, typed = "an earlier derivation by equal paths, twelve digits", "computed, typed in"
    for z_focus, v, degrees, where in (
        (-0.60, -0.40, 30, (-0.149066259389, -0.491286824204)),
        (-1.10, -0.70, 30, (0.173311270336, -0.677411577772)),
        (0.0, 0.05, 30, (-0.115119816886, -0.510885811921)),
        (0.0, 0.05, 10, (-0.145923909410, -0.106790659881)),
    ):
        got = ref.section(np.radians(degrees), z_focus, v)[0]
        for axis, want, value in zip(("radius", "height"), where, got):
            case.check(f"focus {z_focus}, vertex {v}, t = {degrees} deg: {axis}", want, value, 1e-11, origin, typed)


def blur(case):
    drawn = case.figure(
        "Share of an even sun's light that reaches a ball at the focus: engine (points), quadrature (lines)"
    )
    for word, z_focus, v, beam, inner in (CUP, BEYOND):
        outer = 0.95 * beam
        radii = np.array([0.0008, 0.0013, 0.0019, 0.0025, 0.0030])
        expected = ref.intercept(radii, z_focus, v, inner, outer, np.sin(T))
        drawn.plot(radii, expected, label=word)
        for radius, want in zip(radii, expected):
            values = keys(z_focus, v, beam, inner, radius, 'kind = "disc", half_angle_mrad = 4.65', outer)
            estimate = case.trace(f"blur {word} {radius}", **values).receiver("focus", "intercept_factor")
            case.compare(f"{word}: even sun, share within {radius} R", want, estimate)
            drawn.errorbar(radius, estimate.value, 4 * estimate.standard_error, fmt="ko", ms=4)
    drawn.set(xlabel="radius of the ball / R", ylabel="share of the light")
    drawn.legend()
