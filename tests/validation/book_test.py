#!/usr/bin/python3
"""The judge is judged: z-scores, the test of the whole book, and references that lean on the engine."""

import csv
import os
import subprocess
import sys
import tempfile
import types
import unittest
import xml.etree.ElementTree as xml
from pathlib import Path

import numpy as np
from book import origin, page, verdict
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
        alike = a_case()
        alike.compare("all samples alike, and right", 1.0, Estimate(1 + 1e-15, 1e-6, "d", 32))
        alike.compare("the next of this run", 1.0, Estimate(1.01, 0.01, "d", 32))
        self.assertTrue(alike.passed)
        self.assertEqual([row.counts for row in alike.rows], [False, True])

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


class Paper(unittest.TestCase):
    def test_figures_are_vectors_with_their_numbers(self):
        case = a_case()
        axes = case.figure("a caption")
        axes.plot([1, 2, 3], [4, 5, 7], label="reference")
        axes.errorbar([1.5, 2.5], [4.5, 6.25], [0.25, 0.5], fmt=".", label="engine")
        axes.stairs([1, 3], [0, 2, 6], label="bins")
        axes.set(xlabel="angle, mrad", ylabel="share")
        with tempfile.TemporaryDirectory() as folder:
            drawing = page.save_figure(Path(folder), "99-none-1", case.figures[0][1])
            xml.fromstring(drawing)  # well formed
            xml.parse(Path(folder) / "99-none-1.svg")
            with open(Path(folder) / "99-none-1.csv", newline="", encoding="utf-8") as file:
                rows = list(csv.reader(file))
        self.assertEqual(rows[0], ["curve", "angle, mrad", "share", "half length of the error bar"])
        self.assertEqual(sorted(rows[1:3]), [["engine", "1.5", "4.5", "0.25"], ["engine", "2.5", "6.25", "0.5"]])
        self.assertEqual(rows[3:6], [["reference", "1", "4", ""], ["reference", "2", "5", ""], ["reference", "3", "7", ""]])
        self.assertEqual(rows[6:], [["bins", "1", "1", ""], ["bins", "4", "3", ""]])

    def test_drawings_of_one_page_share_no_names(self):
        names = []
        for name in ("a", "b"):
            case = a_case()
            case.figure("a caption").plot([1, 2], [1, 2])
            with tempfile.TemporaryDirectory() as folder:
                tree = xml.fromstring(page.save_figure(Path(folder), name, case.figures[0][1]))
            names.append({e.get("id") for e in tree.iter() if e.get("id")})
            # What is referred to is there.
            for e in tree.iter():
                for value in e.attrib.values():
                    if value.startswith("#"):
                        self.assertIn(value[1:], names[-1])
        self.assertFalse(names[0] & names[1])

    def test_head_tells_program_and_commit(self):
        facts = dict(origin.facts(os.path.relpath(sys.executable), 3))
        self.assertRegex(facts["Program"], r"^Python 3\.\d+.*, SHA-256 [0-9a-f]{64}$")
        self.assertRegex(facts["Written"], r"^\d{4}-\d\d-\d\d \d\d:\d\d UTC$")
        self.assertTrue(facts["Machine"] and facts["Commit of the book"])


class Words(unittest.TestCase):
    def refused(self, *words):
        done = subprocess.run([sys.executable, "-B", "-m", "book", *words], capture_output=True, text=True)
        self.assertEqual(done.returncode, 2)
        return done.stderr

    def test_fast_leaves_nothing_out_that_was_named(self):
        said = self.refused("--catoptra", sys.executable, "--fast", "01", "02")
        self.assertIn("--fast can't be used together with cases; leave out --fast or 01 02", said)

    def test_a_program_that_is_not_there(self):
        self.assertIn("there is no program 'nowhere/catoptra'", self.refused("--catoptra", "nowhere/catoptra"))


if __name__ == "__main__":
    unittest.main()
