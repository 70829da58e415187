"""The sun from astropy, without refraction and with UT1 = UTC, as the engine's documentation says it takes it."""

import warnings

import astropy.units as u
import numpy as np
from astropy.coordinates import AltAz, EarthLocation, get_body
from astropy.time import Time
from astropy.utils import iers

iers.conf.auto_download = False
iers.conf.auto_max_age = None


def sun(utc, latitude_deg, longitude_deg, altitude_m):
    """Azimuth and elevation, degrees, topocentric, of a time string in UTC."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        place = EarthLocation.from_geodetic(longitude_deg * u.deg, latitude_deg * u.deg, altitude_m * u.m)
        time = Time(utc, scale="utc")
        time.delta_ut1_utc = 0.0
        at = get_body("sun", time, place).transform_to(AltAz(obstime=time, location=place))
        return float(at.az.deg), float(at.alt.deg)


def apart_deg(azimuth, elevation, other_azimuth, other_elevation):
    """Angle between two directions, degrees."""

    def unit(a, e):
        a, e = np.radians([a, e])
        return np.array([np.cos(e) * np.sin(a), np.cos(e) * np.cos(a), np.sin(e)])

    one, two = unit(azimuth, elevation), unit(other_azimuth, other_elevation)
    return float(np.degrees(2 * np.arcsin(min(1, np.linalg.norm(one - two) / 2))))
