"""What makes a comparison pass, one by one and all together."""

import numpy as np
from scipy import stats

LIMIT = 4.0  # of |z|, each quantity
WHOLE_BOOK_LEVEL = 0.01  # of the Kolmogorov-Smirnov test
FEWEST = 20  # independent z-scores; with fewer the test says little and is not made


def z_score(value, standard_error, expected, replicates):
    """(value - expected) / error follows Student's t, since the error comes from the replicates' own spread; the
    normal deviate of the same probability follows a standard normal."""
    t = (value - expected) / standard_error
    tail = stats.t.logsf(abs(t), replicates - 1)
    # Beyond the range of doubles the deviate is told by Mills' ratio; nothing hangs on its digits there.
    z = stats.norm.isf(np.exp(tail)) if tail > -700 else np.sqrt(-2 * tail)
    return float(np.copysign(z, t))


def whole_book(z_scores):
    """Probability that independent z-scores of a right engine with honest errors look less normal than these."""
    if len(z_scores) < FEWEST:
        return None
    return float(stats.kstest(z_scores, "norm").pvalue)
