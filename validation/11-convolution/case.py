import numpy as np
from book import trough as ref

title = "Convolution: slope errors count twice; specularity, tracking and the sun count once; added in quadrature"
source = (
    "P. Bendt, A. Rabl, H. W. Gaul and K. A. Reed, SERI/TR-34-092 (1979): sigma^2 = sun^2 + (2 slope)^2 + "
    "specularity^2 + tracking^2; intercepts in book/trough.py"
)
known = "derived here, computed here by quadrature; the report cited from memory"
tolerance = (
    "Monte Carlo: |z| < 4. For Gaussians the rule is exact across a trough, except for terms of second order, 2e-5. "
    "Where the rule is not exact, the engine must differ from it."
)
fast = True

RIM, INNER, SIGMA = np.radians(80), 0.12, 4e-3
RADIUS = 1.6 * SIGMA


def traced(case, label, sun=0.0, slope=0.0, specularity=0.0, jitter=0.0, shape=None):
    outer = 2 * np.tan(RIM / 2)
    return case.trace(
        label,
        sun=shape or (f'kind = "gaussian", sigma_mrad = {sun}' if sun else 'kind = "point"'),
        slope=slope,
        specularity=specularity,
        jitter=jitter,
        radius=RADIUS,
        wing=outer - INNER,
        middle=(outer + INNER) / 2,
    ).receiver("tube", "intercept_factor")


def run(case):
    expected = ref.tube_intercept(INNER, RIM, RADIUS, ref.gaussian_within(SIGMA))
    drawn = case.figure(
        "A total spread of 4 mrad, made in seven ways: intercept factor minus its expected value", size=(8, 4)
    )
    # Each line: sun, slope, specularity, tracking, mrad, whose total is 4 mrad.
    ways = {
        "sun alone": (4, 0, 0, 0),
        "slope alone, half as large": (0, 2, 0, 0),
        "slope across the trough alone": (0, [2, 0], 0, 0),
        "specularity alone": (0, 0, 4, 0),
        "tracking alone, sun of a point": (0, 0, 0, 4),
        "sun and slope": (np.sqrt(8), np.sqrt(2), 0, 0),
        "all four": (2, 1, 2, 2),
    }
    for place, (word, (sun, slope, specularity, jitter)) in enumerate(ways.items()):
        got = traced(case, word, sun, slope, specularity, jitter)
        case.compare(f"{word}: intercept at a total of 4 mrad", expected, got)
        drawn.errorbar(place, got.value - expected, 4 * got.standard_error, fmt="ko")
    drawn.axhline(0, color="gray")
    drawn.set_xticks(range(len(ways)), list(ways), rotation=25, ha="right")
    drawn.set(ylabel="difference (bars: 4 standard errors)")
    told_apart(case)
    departure(case)


def told_apart(case):
    """The rule with slopes counted once, or specularity twice, must be refused by the same runs."""
    for word, keys, wrong in (
        ("slope", {"slope": 2}, 2e-3),
        ("specularity", {"specularity": 4}, 8e-3),
        ("tracking", {"jitter": 4}, 8e-3),
    ):
        got = traced(case, f"told apart {word}", **keys)
        off = abs(got.value - ref.tube_intercept(INNER, RIM, RADIUS, ref.gaussian_within(wrong))) / got.standard_error
        case.between(f"the engine differs from a rule that counts {word} wrongly, in standard errors", 20, 1e9, off)


def departure(case):
    """An even disc is no Gaussian of its rms: the rule of quadrature misses, and by how much is known."""
    size, slope = np.sin(4.65e-3), 0.5e-3
    total = np.hypot(size / 2, 2 * slope)
    got = traced(case, "departure", slope=1e3 * slope, shape='kind = "disc", half_angle_mrad = 4.65')
    # Disc convolved with the slopes' Gaussian: the disc's angle is averaged over its semicircle law, s = size sin(v).
    v, w = ref.nodes(-np.pi / 2, np.pi / 2, 60, 4)
    s, weight = size * np.sin(v), w * 2 / np.pi * np.cos(v) ** 2

    def within(t):
        from scipy.stats import norm

        at = np.asarray(t)[..., None]
        return np.sum(weight * (norm.cdf((at - s) / (2 * slope)) - norm.cdf((-at - s) / (2 * slope))), axis=-1)

    exact = ref.tube_intercept(INNER, RIM, RADIUS, within)
    rule = ref.tube_intercept(INNER, RIM, RADIUS, ref.gaussian_within(total))
    case.compare("even disc and slopes of 0.5 mrad: intercept by convolution", exact, got)
    case.between(
        "even disc and slopes of 0.5 mrad: the engine differs from the rule of quadrature, in standard errors",
        10,
        1e9,
        abs(got.value - rule) / got.standard_error,
    )
    case.note(
        f"For an even disc and slopes of 0.5 mrad the rule of quadrature does not hold. The rule gives {rule:.4f}, "
        f"convolution gives {exact:.4f}, and the engine gives {got.value:.4f}. The reason: a disc has an edge, and a "
        "Gaussian of the same rms has none."
    )
