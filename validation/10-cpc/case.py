import numpy as np
import reference as ref

title = "Compound parabolic concentrators: acceptance, truncation, number of reflections"
source = (
    "rays one by one in numpy, reference.py; edge rays: docs/theory/cpc.md, after Winston, Minano and Benitez, "
    "Nonimaging Optics (2005)"
)
known = "derived and computed here; the book cited from memory"
tolerance = (
    "The step of a trough is exact except for rounding at its edge: 1e-6. Round concentrators: |z| < 4, with the "
    "sampling error of the reference (some 5e-5) added in quadrature. Sizes: 1e-9 of themselves."
)
fast = False

HALF = 0.1  # m, of the exit; it sets the scale alone


def keys(kind, degrees, tilt, reflectance=1.0, height=0.0, length=4000):
    if kind == "cpc":
        shape, absorber = f"exit_diameter_m = {2 * HALF}", f'kind = "circle", diameter_m = {2 * HALF}'
    else:
        shape = f"exit_width_m = {2 * HALF}, length_m = {length}"
        absorber = f'kind = "rectangle", width_m = {2 * HALF}, length_m = {length}'
    return dict(
        sun='kind = "point"',
        elevation=90 - tilt,
        reflectance=reflectance,
        shape=f'kind = "{kind}", acceptance_half_angle_deg = {degrees}, height_m = {height}, {shape}',
        absorber=absorber,
    )


def share(run, of):
    """An amount of the budget over the incident power, as an estimate."""
    incident = run.numbers["incident_power_W"]
    estimate = run.receiver("exit", "absorbed_power_W") if of == "absorbed" else run.budget(of)
    return estimate._replace(value=estimate.value / incident, standard_error=estimate.standard_error / incident)


def run(case):
    step(case)
    round_ones(case)
    cut(case)
    reflections(case)


def step(case):
    """All of a trough's light within the half-angle, seen along it, none beyond; along it any angle will do."""
    for degrees in (10, 30, 60):
        for tilt, want in ((0, 1), (0.6 * degrees, 1), (degrees - 0.001, 1), (degrees + 0.001, 0), (1.3 * degrees, 0)):
            got = case.trace(f"step {degrees} {tilt}", samples=1 << 16, **keys("cpc_trough", degrees, tilt))
            label = f"trough {degrees} deg, light at {tilt:.6g} deg"
            case.check(f"{label}: share", want, share(got, "absorbed").value, 1e-6)
            case.check(f"{label}: direct_power_W", 0,
                       got.receiver("exit", "direct_power_W").value, 0)


def round_ones(case):
    drawn = case.figure(
        "Share of parallel light that a round concentrator accepts: engine (points), rays in numpy (lines)"
    )
    for degrees, tilts in ((30, (0, 20, 27, 29, 30, 31, 33, 38)), (12, (8, 11, 12, 13))):
        one = ref.Concentrator(np.radians(degrees), HALF, True)
        curve = []
        for number, tilt in enumerate(tilts):
            want, _, error = ref.transmission(one, np.radians(tilt), 1, 1000 * degrees + number)
            got = case.trace(f"round {degrees} {tilt}", samples=1 << 16, **keys("cpc", degrees, tilt))
            estimate = share(got, "absorbed")
            if error == 0:
                case.check(f"round {degrees} deg, light at {tilt} deg: share", want, estimate.value, 1e-6)
            else:
                case.compare(f"round {degrees} deg, light at {tilt} deg: share", want, estimate, resolution=error)
            curve.append(want)
            drawn.errorbar(tilt / degrees, estimate.value, 4 * estimate.standard_error, fmt="ko", ms=4)
        drawn.plot(np.array(tilts) / degrees, curve, label=f"half-angle {degrees} deg")
    drawn.set(xlabel="angle to the axis / half-angle", ylabel="share at the exit")
    drawn.legend()


def cut(case):
    """Concentration of walls cut off below their full height, and what they then accept beyond the half-angle."""
    drawn = case.figure("Concentration of a trough that is cut off below its full height, half-angle 20 deg: reference")
    heights, ratios = [], []
    for part in (1, 0.8, 0.6, 0.4, 0.2):
        whole = ref.Concentrator(np.radians(20), HALF, False)
        one = ref.Concentrator(np.radians(20), HALF, False, part * whole.height)
        heights.append(part)
        ratios.append(one.entrance / HALF)
        for kind, power in (("cpc_trough", 1), ("cpc", 2)):
            got = case.trace(f"cut {kind} {part}", samples=1 << 15,
                             **keys(kind, 20, 0, height=part * whole.height * (1 - 1e-12)))
            exit_m2 = 2 * HALF * 4000 if power == 1 else np.pi * HALF**2
            case.check(f"{kind} cut to {part} of its height: entrance / exit", ratios[-1] ** power,
                       got.numbers["aperture_area_m2"] / exit_m2, 1e-9 * ratios[-1] ** power)
        for tilt in (25, 40):
            want, _, error = ref.transmission(one, np.radians(tilt), 1, 77, count=1 << 16)
            got = case.trace(f"cut beyond {part} {tilt}", samples=1 << 17,
                             **keys("cpc_trough", 20, tilt, height=part * whole.height * (1 - 1e-12)))
            # Counts along one dimension: half a point a replicate, here and there.
            spread = float(np.hypot(error, 0.5 / (1 << 12) / np.sqrt(32)))
            case.compare(f"trough of 20 deg cut to {part} of its height, light at {tilt} deg: share", want,
                         share(got, "absorbed"), resolution=spread)
    drawn.plot(heights, ratios, "o-")
    drawn.axhline(1 / np.sin(np.radians(20)), ls=":", label="1 / sin 20 deg")
    drawn.set(xlabel="height / full height", ylabel="entrance width / exit width")
    drawn.legend()


def reflections(case):
    """What a wall of reflectance 0.9 loses needs the whole distribution of the number of reflections; one that loses a
    thousandth tells their mean."""
    for kind, degrees, tilt in (("cpc_trough", 20, 0), ("cpc_trough", 20, 15), ("cpc", 20, 0), ("cpc", 20, 15)):
        one = ref.Concentrator(np.radians(degrees), HALF, kind == "cpc")
        for reflectance in (0.9, 0.999):
            want, number, error = ref.transmission(one, np.radians(tilt), reflectance, 5, count=1 << 16)
            got = case.trace(f"reflections {kind} {tilt} {reflectance}", samples=1 << 17,
                             **keys(kind, degrees, tilt, reflectance))
            # In a trough one coordinate alone matters: half a point a replicate, times what a reflection costs.
            half = 0.5 / (1 << 12) / np.sqrt(32) * (1 - reflectance) if kind == "cpc_trough" else 0
            case.compare(f"{kind} {degrees} deg, light at {tilt} deg, reflectance {reflectance}: share", want,
                         share(got, "absorbed"), resolution=float(np.hypot(error, half)))
            if reflectance == 0.999:
                # Not the mean number itself: light that creeps along the wall near the rim takes so many that it is
                # lost before the last.
                lost = share(got, "primary_absorption")
                lost = lost._replace(value=1000 * lost.value, standard_error=1000 * lost.standard_error)
                case.compare(f"{kind} {degrees} deg, light at {tilt} deg: mean of (1 - 0.999^n) / 0.001, n reflections",
                             1000 * (1 - want), lost, resolution=1000 * float(np.hypot(error, half)))
                case.note(f"{kind} {degrees} deg, light at {tilt} deg: {number:.4f} reflections on average")
