#!/usr/bin/python3
"""The judge is judged: z-scores, the test of the whole book, and references that lean on the engine."""

import tempfile
import types
import unittest
from pathlib import Path

import numpy as np
from book import verdict
from book.case import Case, refuse_engine
from book.engine import Estimate
from book.reference import disc_law, gaussian_law, share_within
from scipy import stats


def a_case():
    return Case(Path("99-none"), types.SimpleNamespace(source="", known=""), None)


class Verdict(unittest.TestCase):
    def test_z_of_a_quantile(self):
        # Student's t with 31 degrees of freedom: 2.0395 is the 97.5 % quantile (tables), as 1.95996 is the normal's.
        self.assertAlmostEqual(verdict.z_score(1 + 2.0395 * 0.1, 0.1, 1, 32), 1.95996, places=3)
        self.assertAlmostEqual(verdict.z_score(1 - 2.0395 * 0.1, 0.1, 1, 32), -1.95996, places=3)
        self.assertGreater(abs(verdict.z_score(1e6, 1e-9, 0, 32)), 4)

    def test_whole_book(self):
        normal = stats.norm.ppf((np.arange(200) + 0.5) / 200)
        self.assertGreater(verdict.whole_book(normal), 0.5)
        self.assertLess(verdict.whole_book(0.6 * normal), 0.01)  # too good is as wrong
        self.assertLess(verdict.whole_book(1.6 * normal), 0.01)  # as too bad
        self.assertLess(verdict.whole_book(normal + 0.4), 0.01)
        self.assertIsNone(verdict.whole_book(normal[:10]))

    def test_rows(self):
        case = a_case()
        case.compare("right", 1.0, Estimate(1.01, 0.01, "a", 32))
        self.assertTrue(case.passed)
        case.compare("same run again", 1.0, Estimate(1.01, 0.01, "a", 32))
        self.assertEqual([row.counts for row in case.rows], [True, False])
        case.compare("wrong by ten errors", 1.0, Estimate(1.1, 0.01, "b", 32))
        self.assertFalse(case.passed)
        self.assertFalse(a_case().passed)  # a case without quantities shows nothing
        exact = a_case()
        exact.compare("no spread, and wrong", 1.0, Estimate(1.0001, 0.0, "c", 32))
        self.assertFalse(exact.passed)

    def test_not_a_number_disagrees(self):
        case = a_case()
        case.check("nothing there", 1.0, float("nan"), 1)
        case.compare("no number", 1.0, Estimate(float("nan"), 0.1, "d", 32))
        case.between("no number", 0, 1, float("nan"))
        self.assertFalse(any(row.passed for row in case.rows))


class Reference(unittest.TestCase):
    def test_alone(self):
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "reference.py"
            file.write_text(
                "import numpy as np\nfrom scipy import stats\nfrom book.reference import nodes\nfrom book import dish\n"
            )
            refuse_engine(file)
            for line in (
                "from book import engine",
                "from book.engine import Run",
                "from .engine import Run",
                "import subprocess",
            ):
                file.write_text(line + "\n")
                with self.assertRaises(SystemExit):
                    refuse_engine(file)

    def test_share_within_a_curve(self):
        phi = np.arange(4000) * 2 * np.pi / 4000
        circle = np.cos(phi), np.sin(phi)
        self.assertAlmostEqual(float(share_within(*circle, gaussian_law(0.5))), 1 - np.exp(-2), places=9)
        self.assertAlmostEqual(float(share_within(0.5 * circle[0], 0.5 * circle[1], disc_law(1))), 0.25, places=9)
        # Off centre, the centre inside and outside: the noncentral chi-square distribution.
        for shift in (0.3, 1.7):
            got = float(share_within(circle[0] + shift, circle[1], gaussian_law(0.8)))
            self.assertAlmostEqual(got, stats.ncx2.cdf(1 / 0.64, 2, shift**2 / 0.64), places=6)


if __name__ == "__main__":
    unittest.main()
