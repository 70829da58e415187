"""Writes astropy_positions.inc: the sun's azimuth and elevation from astropy, without refraction, with UT1 = UTC.

Usage: /usr/bin/python3 astropy_positions.py > astropy_positions.inc
"""
import warnings

import astropy
import erfa
import numpy as np
from astropy import units
from astropy.coordinates import AltAz, EarthLocation, get_body
from astropy.time import Time
from astropy.utils import iers

iers.conf.auto_download = False
iers.conf.iers_degraded_accuracy = "ignore"
warnings.simplefilter("ignore")

random = np.random.default_rng(20)
places_and_times = [
    # The date line from both sides, the poles, leap days, the first and the last day, a summer night in the north.
    (-17.5, 180.0, 3, (2024, 2, 29, 0, 30, 0.0)),
    (-17.5, -180.0, 3, (2024, 2, 29, 0, 30, 0.0)),
    (51.0, 179.99, 100, (2000, 2, 29, 23, 59, 59.5)),
    (90.0, 0.0, 0, (2026, 6, 21, 12, 0, 0.0)),
    (-90.0, 45.0, 2800, (2025, 12, 21, 6, 0, 0.0)),
    (31.2, -7.9, 800, (1950, 1, 1, 0, 0, 0.0)),
    (31.2, -7.9, 800, (2050, 12, 31, 23, 59, 59.0)),
    (70.0, 20.0, 10, (2035, 7, 1, 0, 15, 0.0)),
]
for _ in range(200):
    latitude = np.degrees(np.arcsin(random.uniform(-1, 1)))
    day = Time("1950-01-01").jd + random.uniform(0, 101 * 365.25 - 2)
    moment = Time(day, format="jd").ymdhms
    places_and_times.append(
        (round(latitude, 4), round(random.uniform(-180, 180), 4), int(random.integers(0, 4000)),
         (moment["year"], moment["month"], moment["day"], moment["hour"], moment["minute"],
          round(min(float(moment["second"]), 59.5), 2))))

print(f"// From astropy {astropy.__version__} with pyerfa {erfa.__version__} by astropy_positions.py: do not edit.")
print("// latitude_deg, longitude_deg, altitude_m, year, month, day, hour, minute, second, azimuth_deg, elevation_deg,")
print("// distance_au")
for latitude, longitude, altitude, (year, month, day, hour, minute, second) in places_and_times:
    place = EarthLocation.from_geodetic(longitude * units.deg, latitude * units.deg, altitude * units.m)
    when = Time(dict(year=year, month=month, day=day, hour=hour, minute=minute, second=second),
                format="ymdhms", scale="utc", location=place)
    when.delta_ut1_utc = 0.0
    sun = get_body("sun", when, place).transform_to(AltAz(obstime=when, location=place))
    print(f"{{{latitude}, {longitude}, {altitude}, {year}, {month}, {day}, {hour}, {minute}, {second}, "
          f"{sun.az.deg:.7f}, {sun.alt.deg:.7f}, {sun.distance.au:.9f}}},")
