import numpy as np
import reference as ref

title = "Position of the sun: the worked example of Reda and Andreas, and astropy"
source = "astropy's get_body with UT1 = UTC, no refraction"
known = "computed here by another program"
tolerance = (
    "Against astropy: 0.0005 deg, because both implement the same models and the engine interpolates between times. "
    "Against the worked example: 0.0015 deg, because the example has an uncertainty of 0.0003 deg and another formula "
    "for refraction (which is 0.016 deg there)."
)
fast = False

SPA = (
    "I. Reda and A. Andreas, Solar Position Algorithm for Solar Radiation Applications, NREL/TP-560-34302 (2008), "
    "table A5.1"
)
RANGES = ((1990, 2030), (1, 13), (1, 29), (0, 24), (0, 60))  # year, month, day, hour, minute


def traced(case, label, **place):
    got = case.trace(label, samples=1024, **place)
    return float(got.array("sun/azimuth_deg")), float(got.array("sun/elevation_deg"))


def run(case):
    azimuth, elevation = traced(
        case,
        "worked example",
        latitude=39.742476,
        longitude=-105.1786,
        altitude=1830.14,
        at="2003-10-17T12:30:30-07:00",
        pressure=820,
        temperature=11,
    )
    seen = "typed in from the report, as in tests/unit/sun"
    case.check("worked example: zenith angle, deg", 50.111622, 90 - elevation, 0.0015, SPA, seen)
    case.check("worked example: azimuth, deg", 194.340241, azimuth, 0.0015, SPA, seen)

    rng = np.random.default_rng(20260320)
    apart, elevations = [], []
    while len(apart) < 24:
        latitude, longitude = round(rng.uniform(-65, 65), 4), round(rng.uniform(-179, 179), 4)
        year, month, day, hour, minute = (int(rng.integers(*r)) for r in RANGES)
        stamp = f"{year}-{month:02}-{day:02}T{hour:02}:{minute:02}:00"
        want = ref.sun(stamp, latitude, longitude, 500.0)
        if want[1] < 3:  # a scene's sun stands above the horizon
            continue
        got = traced(
            case,
            f"astropy {len(apart)}",
            latitude=latitude,
            longitude=longitude,
            altitude=500.0,
            at=stamp + "+00:00",
            pressure=0,
            temperature=10,
        )
        apart.append(ref.apart_deg(*got, *want))
        elevations.append(want[1])
        case.check(
            f"{stamp} UTC, latitude {latitude}, longitude {longitude}: angle between engine and astropy, deg",
            0,
            apart[-1],
            5e-4,
        )
    drawn = case.figure("Angle between the engine's sun and the sun of astropy, over the sun's elevation")
    drawn.plot(elevations, 3600 * np.array(apart), "ko")
    drawn.set(xlabel="elevation of the sun, deg", ylabel="angle between the two, arcseconds", ylim=(0, None))
