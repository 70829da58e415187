import numpy as np
import reference as ref

title = "Spherical bowl with a line absorber: concentration along the absorber, number of reflections"
source = (
    "W. E. Steward and F. Kreith, Stationary concentrating reflector cum tracking absorber solar energy collector, "
    "Applied Optics 14 (1975) 1509; rays on one circle, in reference.py"
)
known = "derived and computed here; the paper cited from memory"
tolerance = (
    "Monte Carlo: |z| < 4. A rod of radius a shifts the edges of the zones by about a / R. So each traced zone ends 1 "
    "degree inside its edges. There all light meets the mirror equally often, and the efficiency is a power of the "
    "reflectance."
)
fast = True

R = 10.0


def run(case):
    along(case)
    zones(case)
    shares(case)


def along(case):
    a, low, high = 1e-3, np.radians(10), np.radians(58)
    z_low, z_high, count = 0.5, 1.0, 40
    got = case.trace(
        "along",
        samples=1 << 20,
        reflectance=1,
        outer=2 * R * np.sin(high),
        inner=2 * R * np.sin(low),
        radius=a * R,
        length=(z_high - z_low) * R,
        height=R * (1 - (z_low + z_high) / 2),
        bins=count,
    )
    flux, error, area, _, z = got.flux("rod")
    centre_below = (z_low + z_high) / 2 - z / R  # of the bins' edges, in R
    all_light = np.sin(high) ** 2 - np.sin(low) ** 2
    share = got.estimates(flux * area / (np.pi * R**2 * all_light), error * area / (np.pi * R**2 * all_light))
    drawn = case.figure(
        "Concentration along a rod, radius a = R / 1000: engine's bins (points), 2 (R / a) cos^3 th (line)"
    )
    # Points are even in area, and the light of one goes as cos th: at most so much brighter than the mean.
    samples, replicates = got.numbers["samples"], got.numbers["replicates"]
    brightest = 2 * (np.cos(low) - np.cos(high)) * np.cos(low) / all_light
    half_a_point = 0.5 * brightest / (samples / replicates) / np.sqrt(replicates)
    middles = (centre_below[1:] + centre_below[:-1]) / 2
    for k, estimate in enumerate(share):
        top = ref.highest_power(centre_below[k], a, low, high)
        bottom = ref.highest_power(centre_below[k + 1], a, low, high)
        quantity = f"share of the light on the rod, {middles[k]:.4f} R below the centre"
        case.compare(quantity, (top - bottom) / all_light, estimate, resolution=half_a_point)
    drawn.errorbar(middles, flux.ravel(), 4 * error.ravel(), fmt="k.")
    line = np.linspace(0.508, 0.94, 200)
    drawn.plot(line, ref.thin_concentration(line, a))
    drawn.set(xlabel="distance below the centre / R = 1 / (2 cos th)", ylabel="concentration")


def zones(case):
    """One, two, three reflections: the share of a hemisphere's light and the count."""
    a = 1e-4
    for k, share in ((1, 0.75), (2, 0.154508), (3, 0.045976)):
        edge, before = ref.thin_limits(k), ref.thin_limits(k - 1)
        case.check(
            f"share of a hemisphere's light that meets the mirror {k} times",
            share,
            np.sin(edge) ** 2 - np.sin(before) ** 2,
            1e-6,
            "closed form sin^2 of 180 k / (2 k + 1) deg, typed in from an earlier calculation",
            "computed, typed in",
        )
        low, high = max(before + np.radians(1), np.radians(2)), edge - np.radians(1)
        met = ref.reflections(np.linspace(low, high, 1000), a)
        case.check(f"zone {k}: share of the reference's rays that meet the mirror {k} times", 1, np.mean(met == k), 0)
        got = case.trace(
            f"zone {k}",
            reflectance=0.8,
            outer=2 * R * np.sin(high),
            inner=2 * R * np.sin(low),
            radius=a * R,
            length=R,
            height=R / 2,
            bins=1,
        )
        case.compare(
            f"zone of {k} reflections, reflectance 0.8: efficiency 0.8^{k}", 0.8**k, got.whole("optical_efficiency")
        )


def shares(case):
    """Cap up to 77 degrees: efficiency is the sum of share_k reflectance^k."""
    a, end = 1e-4, np.radians(77)
    edges = np.linspace(np.sin(np.radians(2)) ** 2, np.sin(end) ** 2, 400001)
    met = ref.reflections(np.arcsin(np.sqrt((edges[1:] + edges[:-1]) / 2)), a)
    for reflectance in (0.9, 0.7, 0.5):
        got = case.trace(
            f"cap {reflectance}",
            reflectance=reflectance,
            outer=2 * R * np.sin(end),
            inner=2 * R * np.sin(np.radians(2)),
            radius=a * R,
            length=R,
            height=R / 2,
            bins=1,
        )
        case.compare(
            f"cap of 77 deg, reflectance {reflectance}: efficiency",
            np.mean(reflectance**met),
            got.whole("optical_efficiency"),
        )
