"""Writes astropy_events.inc: sunrise, solar noon and sunset of civil days, from astropy's sun positions.

Without refraction, with UT1 = UTC. Rise and set: centre at -50'; noon: upper transit, hour angle 0; both bisected.
Seconds after local midnight; -1 where there is no such event in the day.

Usage: /usr/bin/python3 astropy_events.py > astropy_events.inc
"""
import warnings

import astropy
import erfa
import numpy as np
from astropy import units
from astropy.coordinates import AltAz, EarthLocation, get_body
from astropy.time import Time, TimeDelta
from astropy.utils import iers

iers.conf.auto_download = False
iers.conf.iers_degraded_accuracy = "ignore"
warnings.simplefilter("ignore")

HORIZON_DEG = -50 / 60


class Day:
    def __init__(self, latitude, longitude, altitude, date, offset_minutes):
        self.place = EarthLocation.from_geodetic(longitude * units.deg, latitude * units.deg, altitude * units.m)
        self.latitude = np.radians(latitude)
        self.midnight = Time(date + "T00:00:00", scale="utc") - TimeDelta(60.0 * offset_minutes, format="sec")

    def sun(self, seconds):
        when = self.midnight + TimeDelta(np.atleast_1d(seconds), format="sec")
        when.delta_ut1_utc = 0.0
        sun = get_body("sun", when, self.place).transform_to(AltAz(obstime=when, location=self.place))
        return sun.az.rad, sun.alt.rad

    def above(self, seconds):
        return np.degrees(self.sun(seconds)[1]) - HORIZON_DEG

    def hour_angle(self, seconds):
        azimuth, altitude = self.sun(seconds)
        west = -np.cos(altitude) * np.sin(azimuth)
        north, up = np.cos(altitude) * np.cos(azimuth), np.sin(altitude)
        toward_equator = up * np.cos(self.latitude) - north * np.sin(self.latitude)
        return np.arctan2(west, toward_equator)

    def first(self, function, rising, jump=np.inf):
        seconds = np.append(np.arange(0, 86400, 120.0), 86400.0)
        values = function(seconds)
        for a, b, f_a, f_b in zip(seconds[:-1], seconds[1:], values[:-1], values[1:]):
            if abs(f_b - f_a) > jump or (f_a > 0) == (f_b > 0) or (f_b > f_a) != rising:
                continue
            while b - a > 0.005:
                middle = (a + b) / 2
                if (function(middle)[0] > 0) == (f_a > 0):
                    a = middle
                else:
                    b = middle
            return (a + b) / 2
        return -1


days = [
    (39.742476, -105.1786, 1830, "2003-10-17", -420),
    (31.2, -7.9, 800, "2026-06-21", 60),
    (31.2, -7.9, 800, "2026-12-21", -32),
    (51.5, 0.0, 0, "2000-02-29", 0),  # leap days
    (-33.0, 151.0, 0, "2024-02-29", 600),
    (1.9, -157.4, 2, "2024-02-29", 840),  # the date line: a clock a day ahead of its longitude
    (-17.0, 179.9, 2, "2026-03-20", 720),
    (-14.0, -171.0, 2, "2026-09-22", -660),
    (78.2, 15.6, 10, "2026-06-21", 120),  # polar day, polar night, the days around them
    (78.2, 15.6, 10, "2026-12-21", 60),
    (69.65, 18.96, 10, "2026-11-26", 60),
    (69.65, 18.96, 10, "2026-05-17", 120),
    (-77.85, 166.7, 10, "2026-12-21", 780),
    (-77.85, 166.7, 10, "2026-06-21", 720),
    (89.9, 30.0, 0, "2026-03-19", 0),
]
random = np.random.default_rng(21)
for _ in range(25):
    latitude = np.degrees(np.arcsin(random.uniform(-0.9, 0.9)))
    longitude = random.uniform(-180, 180)
    date = Time(Time("1950-02-01").jd + random.uniform(0, 100 * 365.25), format="jd").iso[:10]
    days.append((round(latitude, 4), round(longitude, 4), int(random.integers(0, 4000)), date, round(4 * longitude)))

print(f"// From astropy {astropy.__version__} with pyerfa {erfa.__version__} by astropy_events.py: do not edit.")
print("// latitude_deg, longitude_deg, altitude_m, year, month, day, utc_offset_minutes, sunrise_s, noon_s, sunset_s")
for latitude, longitude, altitude, date, offset in days:
    day = Day(latitude, longitude, altitude, date, offset)
    noon = day.first(day.hour_angle, True, jump=1)
    year, month, number = (int(word) for word in date.split("-"))
    print(f"{{{latitude}, {longitude}, {altitude}, {year}, {month}, {number}, {offset}, "
          f"{day.first(day.above, True):.2f}, {noon:.2f}, {day.first(day.above, False):.2f}}},")
