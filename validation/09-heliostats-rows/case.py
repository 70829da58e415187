import numpy as np
import reference as ref

title = "Heliostats and rows: astigmatism, cosine, shading, blocking, end loss"
source = "closed forms and rays on an even grid, in reference.py"
known = "derived and computed here"
tolerance = (
    "Monte Carlo: |z| < 4. Cosines and incident powers are exact: 1e-9. The ray grid of 2000 x 2000 points errs by "
    "less than 1e-5, by its step at the edge of the image."
)
fast = True


def run(case):
    astigmatism(case)
    pairs(case)
    rows(case)
    ends(case)


def astigmatism(case):
    """Off axis by i a spherical mirror has two foci: f cos i for rays in the plane of incidence, f / cos i for those
    across it. At L = f the image of a 10 m square at i = 30 degrees is 1.36849 m across by 1.43042 m up."""
    elevation, side = 60.0, 10.0
    land = ref.landing(elevation, side, 200.0, 100.0)
    origin = "an earlier exact trace, six digits"
    grid = 3e-3  # a grid of middles stops half a step short of the edges
    case.check(
        "f = L = 100 m, 30 deg, 10 m square: one side of the image, m",
        1.36849,
        min(np.ptp(land[0]), np.ptp(land[1])),
        grid,
        origin,
        "computed, typed in",
    )
    case.check(
        "f = L = 100 m, 30 deg, 10 m square: the other side, m",
        1.43042,
        max(np.ptp(land[0]), np.ptp(land[1])),
        grid,
        origin,
        "computed, typed in",
    )
    drawn = case.figure(
        "Share of the light of a 10 m heliostat within a strip that is 0.4 m high (in the plane of incidence) or 0.4 m "
        "wide (across this plane), over the distance of the wall: rays on a grid"
    )
    cosine = np.cos(np.radians(30))
    for label, distance in (("f cos i", 100 * cosine), ("f", 100.0), ("f / cos i", 100 / cosine)):
        land = ref.landing(elevation, side, 200.0, distance)
        for word, width, height in (
            ("square of 1 m", 1.0, 1.0),
            ("strip 0.4 m wide", 0.4, 9.0),
            ("strip 0.4 m high", 9.0, 0.4),
        ):
            got = case.trace(
                f"astigmatism {label} {word}",
                "heliostat.toml",
                azimuth=0,
                elevation=elevation,
                side=side,
                distance=distance,
                width=width,
                height=height,
            )
            case.compare(
                f"wall at {label}, {word}: share",
                ref.share(land, width, height),
                got.receiver("wall", "intercept_factor"),
            )
    distances = np.linspace(75, 125, 41)
    lands = [ref.landing(elevation, side, 200.0, d, 200) for d in distances]
    for width, height, label in (
        (9, 0.4, "0.4 m high"),
        (0.4, 9, "0.4 m wide"),
    ):
        drawn.plot(distances, [ref.share(land, width, height) for land in lands], label=label)
    drawn.axvline(100 * cosine, color="gray", ls=":")
    drawn.axvline(100 / cosine, color="gray", ls=":")
    drawn.set(xlabel="distance of the wall, m (dotted: f cos i and f / cos i)", ylabel="share of the light")
    drawn.legend(title="strip", loc="upper center")
    for elevation in (20.0, 45.0, 75.0):
        got = case.trace(
            f"cosine {elevation}",
            "heliostat.toml",
            samples=4096,
            azimuth=180,
            elevation=elevation,
            side=1,
            distance=100,
            width=9,
            height=9,
        )
        s, t = ref.direction(180, elevation), np.array([0, 1, 0])
        case.check(
            f"cosine of a heliostat, sun {elevation} deg high: sqrt((1 + s.t) / 2)",
            np.sqrt((1 + s @ t) / 2),
            got.numbers["incident_power_W"] / 1000,
            1e-9,
        )


def pairs(case):
    n, d = ref.unit([0.1, -0.6, 0.8]), np.array([0.4, -1.0, 0.9])
    for azimuth, elevation in ((160, 25), (175, 45), (200, 25), (160, 60), (230, 45), (120, 80)):
        s = ref.direction(azimuth, elevation)
        out = 2 * (s @ n) * n - s
        at = dict(azimuth=azimuth, elevation=elevation, normal=list(n), front=list(d + [0, 0, 5]))
        got = case.trace(f"pair {azimuth} {elevation}", "pair.toml", **at)
        of_sun, of_beam = ref.shadow(s, d, n), ref.shadow(out, d, n)
        irradiance = 1000 * (s @ n)
        shaded = ref.common_area(2, 1.5, [of_sun])
        blocked = ref.common_area(2, 1.5, [of_beam]) - ref.common_area(2, 1.5, [of_sun, of_beam])
        word = f"two rectangles, sun at azimuth {azimuth}, elevation {elevation} deg"
        case.check(f"{word}: incident power, W", irradiance * 6, got.numbers["incident_power_W"], 1e-8)
        case.compare(f"{word}: shading, W", irradiance * shaded, got.budget("shading"))
        case.compare(f"{word}: blocking, W", irradiance * blocked, got.budget("blocking"))


def rows(case):
    """The sun stands east, across the rows, and sees their pitch p as p sin(elevation): each row but the first loses
    W - p sin(elevation) of its width W."""
    width, spacing, count = 5.8, 12.0, 5
    for elevation in (8.0, 15.0, 25.0, 40.0):
        got = case.trace(f"rows {elevation}", "rows.toml", elevation=elevation, rows=count, spacing=spacing)
        covered = max(0.0, width - spacing * np.sin(np.radians(elevation)))
        case.check(
            f"rows, sun {elevation} deg high: incident power, W",
            1000 * count * width * 40,
            got.numbers["incident_power_W"],
            1e-4,
        )
        case.compare(
            f"{count} rows of troughs, sun {elevation} deg high: shading, W",
            1000 * (count - 1) * covered * 40,
            got.budget("shading"),
        )


def ends(case):
    derived = (
        "light from x across the trough lands (f + x^2 / 4 f) tan th further along; this is its mean over the width W. "
        "A. Rabl, Active Solar Collectors and Their Applications (1985), also gives an end loss (cited from memory)"
    )
    for tilt in (10.0, 30.0, 60.0):
        got = case.trace(f"ends {tilt}", "ends.toml", elevation=90 - tilt)
        expected = 1 - 1 / 10 * np.tan(np.radians(tilt)) * (1 + 3**2 / 48)
        # The tube is 1e-4 m thick: light meets it that much earlier.
        expected += 1e-4 / 10 * np.tan(np.radians(tilt))
        case.compare(
            f"end loss, incidence {tilt} deg: 1 - (f / L) tan th (1 + W^2 / 48 f^2)",
            expected,
            got.receiver("tube", "intercept_factor"),
            derived,
            "derived here",
        )
