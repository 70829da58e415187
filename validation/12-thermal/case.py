import numpy as np
import reference as ref

title = "Heat: the best temperature of a receiver over its concentration"
source = (
    "the equation derived in docs/theory/heat.md, with roots and searches in reference.py; A. Steinfeld and "
    "M. Schubnell, Solar Energy 50 (1993) 19"
)
known = "derived and computed here; the paper cited from memory"
tolerance = (
    "Without randomness. Against the root of the polynomial: 1e-9. A search finds the place of a flat maximum to some "
    "1e-6 of itself: 1e-5. Temperatures that are typed in have one decimal, and they leave out the radiation of "
    "surroundings at 300 K: 0.2 K."
)
fast = True

APERTURE_M2 = np.pi / 4 * (8**2 - 2**2)


def receiver(case, label, concentration, emittance=1.0, temperature=1000.0, cold=300.0, convection=0.0):
    diameter = np.sqrt(APERTURE_M2 / concentration * 4 / np.pi)
    got = case.trace(label, samples=1 << 12, diameter=diameter, emittance=emittance, temperature=temperature, cold=cold,
                     convection=convection)
    return got.numbers["receivers"]["plate"]["heat"], APERTURE_M2 / concentration


def run(case):
    drawn = case.figure(
        "Best temperature of a black receiver over its concentration: engine (points), polynomial's root (line)"
    )
    ratios = (200, 1000, 2000, 5000, 10000)
    sweep = np.geomspace(100, 20000, 60)
    drawn.plot(sweep, [ref.black(c) for c in sweep], label="root of the polynomial")
    for ratio in ratios:
        heat, area = receiver(case, f"black {ratio}", ratio)
        got = heat["best_temperature_K"]["value"]
        want = ref.black(ratio)
        case.check(f"black, C = {ratio}: best temperature, K", want, got, 1e-9 * want)
        case.check(f"black, C = {ratio}: stagnation, K", (ratio * 1000 / ref.SIGMA + 300**4) ** 0.25,
                   heat["stagnation_temperature_K"]["value"], 1e-6)
        work = (1000 * ratio - ref.loss(want, 1, 0, 300)) * (1 - 300 / want) * area
        case.check(f"black, C = {ratio}: work there, W", work, heat["best_work_W"]["value"], 1e-9 * work)
        drawn.plot(ratio, got, "ko", ms=4)
    drawn.set(xlabel="concentration", ylabel="best temperature, K", xscale="log")
    drawn.legend()
    typed = "its equation's roots, one decimal"
    for ratio, want in ((1000, 1106.7), (5000, 1507.1), (10000, 1723.6)):
        heat, _ = receiver(case, f"typed {ratio}", ratio)
        case.check(f"black, C = {ratio}: best temperature against a typed-in value, K", want,
                   heat["best_temperature_K"]["value"], 0.2,
                   f"Steinfeld and Schubnell (1993): {typed}", "computed apart, typed in")
        case.check("check of the reference: the polynomial without surroundings, K", want,
                   ref.black(ratio, with_sky=False), 0.05,
                   f"Steinfeld and Schubnell (1993): {typed}", "computed apart, typed in")
    for ratio, emittance, convection, temperature, cold in ((50, 0.1, 0, 700, 300), (500, 0.9, 15, 950, 290),
                                                            (80, 0.2, 8, 600, 310)):
        label = f"C = {ratio}, emittance {emittance}, {convection} W/m2 K"
        heat, area = receiver(case, label, ratio, emittance, temperature, cold, convection)
        want, work = ref.best(1000 * ratio, emittance, convection, cold)
        case.check(f"{label}: best temperature, K", want, heat["best_temperature_K"]["value"], 1e-5 * want)
        case.check(f"{label}: work there, W", work * area, heat["best_work_W"]["value"], 1e-9 * work * area)
        lost = ref.loss(temperature, emittance, convection, cold) * area
        case.check(f"{label}: lost at {temperature} K, W", lost, heat["heat_loss_W"], 1e-9 * lost)
        useful = 1000 * APERTURE_M2 - lost
        case.check(f"{label}: useful at {temperature} K, W", useful, heat["useful_heat_W"]["value"], 1e-6)
        case.check(f"{label}: work at {temperature} K, W", useful * (1 - cold / temperature), heat["work_W"]["value"],
                   1e-6)
