import numpy as np
from book import dish, verdict
from book.reference import disc_law
from scipy import stats

title = "Statistics: coverage of 95 % intervals, convergence of quasi-random sampling"
source = "Student's t and the binomial distribution; the true intercept by quadrature in book/dish.py"
known = "closed form"
tolerance = (
    "The coverage of 400 runs has a standard deviation of 1.1 %, so the tolerance of 3 % is 2.8 standard deviations. "
    "Plain sampling converges as N^-0.5. Scrambled points on an integrand with jumps in d dimensions converge as "
    "N^(-1/2 - 1/2d) or faster (Z. He and X. Wang, SIAM J. Numerical Analysis 53, 2015, from memory). The power is "
    "-0.625 for d = 4, and the fit errs by 0.05."
)
fast = False

F, HOLE, T = 10.0, 0.4, 4.65e-3
RADIUS = F * np.tan(T)
OUTER = dish.rim_radius(np.radians(60), F)
SIZE = dict(outer=2 * OUTER, inner=2 * HOLE, diameter=2 * RADIUS)


def run(case):
    truth = dish.intercept_sun(F, HOLE, OUTER, RADIUS, disc_law(np.sin(T)), 4096, 24, 8)
    coverage(case, truth)
    convergence(case, truth)


def coverage(case, truth):
    half = stats.t.ppf(0.975, 31)
    found = [
        case.trace("coverage", samples=256 * 32, seed=1000 + k, **SIZE).receiver("target", "intercept_factor")
        for k in range(400)
    ]
    inside = np.mean([abs(e.value - truth) < half * e.standard_error for e in found])
    case.check("share of 400 intervals of 95 % that contain the true value", 0.95, inside, 0.03)
    z = [verdict.z_score(e.value, e.standard_error, truth, 32) for e in found]
    chance = stats.kstest(z, "norm").pvalue
    case.between("their z-scores against a standard normal: p", 0.01, 1, chance)
    twin = np.mean([abs(e.value - truth) < half * e.standard_error / 1.25 for e in found])
    case.between("coverage of intervals of 0.8 times the width, which must be too small", 0, 0.92, twin)
    drawn = case.figure("z-scores of 400 runs (bars) and the standard normal density (line)")
    grid = np.linspace(-4, 4, 200)
    drawn.hist(z, bins=32, range=(-4, 4), density=True, color="silver")
    drawn.plot(grid, stats.norm.pdf(grid), "k")
    drawn.set(xlabel="z", ylabel="density")


def convergence(case, truth):
    """True errors, not stated ones, of 12 seeds at each size. The engine traces whole bundles, so sizes are those that
    it reports."""
    sizes, errors = [], []
    for n in 2 ** np.arange(13, 22, 2):
        runs = [case.trace("convergence", samples=n, seed=5000 + k, **SIZE) for k in range(12)]
        found = np.array([run.receiver("target", "intercept_factor").value for run in runs])
        sizes.append(runs[0].numbers["samples"])
        errors.append(np.sqrt(np.mean((found - truth) ** 2)))
    sizes = np.array(sizes)
    slope = np.polyfit(np.log(sizes), np.log(errors), 1)[0]
    case.between("power of N with which the true error falls (plain sampling: -0.5)", -1.0, -0.575, slope)
    drawn = case.figure("True rms error of the intercept factor over the number of samples")
    drawn.loglog(sizes, errors, "ko", label="engine, 12 seeds each")
    plain = np.sqrt(truth * (1 - truth) / sizes)
    drawn.loglog(sizes, plain, "k--", label="plain sampling, binomial")
    drawn.set(xlabel="samples", ylabel="rms error")
    drawn.legend()
    gain = (plain[-1] / errors[-1]) ** 2
    case.note(
        f"For the error that the engine has at {sizes[-1]} samples, plain sampling would need {gain:.0f} times as many."
    )
