#!/usr/bin/env python3
"""Writes points_reference.inc: the first 64 points of Sobol's sequence in 8 dimensions, by scipy (Joe and Kuo's
direction numbers), times 64."""

from scipy.stats import qmc

points = qmc.Sobol(d=8, scramble=False).random(64)
whole = (points * 64).astype(int)
assert (whole == points * 64).all()
print("// Written by points_reference.py with scipy.stats.qmc. In the order of Gray's code.")
for row in whole:
    print("{" + ", ".join(str(x) for x in row) + "},")
