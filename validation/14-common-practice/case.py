import numpy as np

title = "Common practice: machines of usual size and quality"
source = "common practice"
known = "common practice, no source"
tolerance = (
    "The ranges were stated beforehand. 'Some tens of suns' for a trough is 10 to 100. 'About a thousand' for a dish "
    "is within half a decade of 1000. 'A tracking error must be well under half a degree' means: a tenth of a degree "
    "costs less than 1 %, and half a degree costs more than 3 %."
)
fast = True

TROUGH = dict(
    slope=2.0,
    shape='kind = "parabolic_trough", focal_length_m = 1.7',
    aperture='kind = "rectangle", width_m = 5.8, length_m = 48',
    mount='kind = "single_axis"',
    receiver='kind = "cylinder", radius_m = 0.035, length_m = 48',
    focal=1.7,
    axis=[0, 1, 0],
)
DISH = dict(
    slope=1.5,
    shape='kind = "paraboloid", focal_length_m = 6',
    aperture='kind = "circle", diameter_m = 10',
    mount='kind = "two_axis"',
    receiver='kind = "disc", diameter_m = 0.24',
    focal=6,
    axis=[0, 0, -1],
)


def run(case):
    drawn = case.figure("Share of the light lost over a constant tracking error")
    for word, machine, low, high in (("trough", TROUGH, 10, 100), ("dish", DISH, 1000 / 10**0.5, 1000 * 10**0.5)):
        errors_deg = (0, 0.1, 0.25, 0.5, 1.0)
        found = []
        for error_deg in errors_deg:
            bias = float(1e3 * np.radians(error_deg))
            # A dish's bias turns about x alone, so that the error is the angle that its row says.
            got = case.trace(
                f"{word} {error_deg}", samples=1 << 17, **machine, bias=[bias, 0] if word == "dish" else bias
            )
            found.append(got.receiver("focus", "intercept_factor").value)
            if error_deg == 0:
                case.between(
                    f"{word}: mean concentration, suns", low, high, got.receiver("focus", "mean_concentration").value
                )
        lost = 1 - np.array(found) / found[0]
        drawn.plot(errors_deg, lost, "o-", label=word)
        case.between(f"{word}: share lost at a tracking error of 0.1 deg", -0.001, 0.01, lost[1])
        case.between(f"{word}: share lost at a tracking error of 0.5 deg", 0.03, 1, lost[3])
    drawn.set(xlabel="tracking error, deg", ylabel="share of the light lost")
    drawn.legend()
