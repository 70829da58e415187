"""catoptra compare: its table against the files' numbers, and what it says when it can't."""

import math
import re

import h5py

import program
from program import ProgramTest


class Compare(ProgramTest):
    def setUp(self):
        super().setUp()
        narrow = program.DISH.replace("diameter_m = 0.1 }", "diameter_m = 0.05 }")
        self.assertNotEqual(narrow, program.DISH)
        (self.folder / "narrow.toml").write_text(narrow)
        for scene, seed, output in [("dish", "1", "a"), ("dish", "2", "b"), ("narrow", "1", "c")]:
            words = ["trace", f"{scene}.toml", "--samples", "20000", "--seed", seed, "-q", "-o", f"{output}.h5"]
            self.assertEqual(self.run_program(*words)[0], 0)

    def refused(self, words, message):
        before = self.files()
        self.assertEqual(self.run_program(*words), (2, "", message))
        self.assertEqual(self.files(), before)

    def test_numbers_differences_and_width(self):
        code, out, err = self.run_program("compare", "a.h5", "b.h5", "c.h5")
        self.assertEqual((code, err), (0, ""))
        for line in out.splitlines():
            self.assertLessEqual(len(line), 80, line)
        self.assertTrue(out.startswith("A  a.h5\nB  b.h5\nC  c.h5\n"), out)
        self.assertIn("caution: concentrated sunlight burns", out)

        estimates = []
        for name in "abc":
            with h5py.File(self.folder / f"{name}.h5") as file:
                estimates.append((100 * file["intercept_factor"][()], 100 * file["intercept_factor_standard_error"][()]))
        block = re.search(r"^intercept factor, %\n((?:  [A-C] .*\n){3})", out, re.M)[1].splitlines()
        first = estimates[0]
        for line, (value, error) in zip(block, estimates):
            numbers = [float(word) for word in re.findall(r"[-+]?\d[\d.e+-]*", line)]
            # Two digits of the error, and the value to the same place.
            self.assertAlmostEqual(numbers[1], error, delta=0.05 * error)
            self.assertAlmostEqual(numbers[0], value, delta=0.06 * error)
            if (value, error) == first:
                self.assertEqual(len(numbers), 2)
                continue
            difference, its_error = value - first[0], math.hypot(error, first[1])
            self.assertAlmostEqual(numbers[2], difference, delta=0.06 * its_error)
            self.assertAlmostEqual(numbers[3], its_error, delta=0.05 * its_error)
            sigmas = difference / its_error
            self.assertAlmostEqual(numbers[4], sigmas, delta=0.006 * abs(sigmas))
        # The receiver of half the diameter misses light; another seed is the same machine.
        self.assertLess(float(block[2].split()[-1]), -5)
        self.assertLess(abs(float(block[1].split()[-1])), 5)

    def test_a_number_that_one_lacks_has_no_difference(self):
        with h5py.File(self.folder / "a.h5", "a") as file:
            file.move("receivers/absorber", "receivers/other")
        _, out, _ = self.run_program("compare", "a.h5", "b.h5")
        self.assertRegex(out, r"absorber: absorbed power, W\n  B +[\d.]+ ± [\d.]+\n")
        self.assertRegex(out, r"other: absorbed power, W\n  A +[\d.]+ ± [\d.]+\n")

    def test_heat_is_of_all_receivers_together(self):
        black = '\nfinish = "black"\n'
        self.assertEqual(program.DISH.count(black), 1)
        warm = program.DISH.replace(black, black + "heat = { emittance = 0.8, temperature_K = 900 }\n")
        (self.folder / "warm.toml").write_text(warm)
        self.assertEqual(self.run_program("trace", "warm.toml", "--samples", "20000", "-q", "-o", "d.h5")[0], 0)
        _, out, _ = self.run_program("compare", "a.h5", "d.h5")
        with h5py.File(self.folder / "d.h5") as file:
            heat = file["receivers/absorber/heat"]
            whole_W = file["sun/dni_W_m2"][()] * file["aperture_area_m2"][()]
            for words, name in [("useful heat", "useful_heat"), ("maximum work", "work")]:
                line = re.search(rf"^{words}, % of DNI x aperture area\n  B +(\S+) ± (\S+)\n", out, re.M)  # A has none
                error = 100 * heat[name + "_standard_error_W"][()] / whole_W
                self.assertAlmostEqual(float(line[2]), error, delta=0.05 * error)
                self.assertAlmostEqual(float(line[1]), 100 * heat[name + "_W"][()] / whole_W, delta=0.06 * error)

    def test_an_instant_beside_a_schedule(self):
        with h5py.File(self.folder / "b.h5", "a") as file:
            file.attrs["content"] = "schedule"
        self.refused(
            ["compare", "a.h5", "b.h5"],
            "catoptra: 'b.h5' has no checksum: an older version wrote it, or another program has\n"
            "  changed it; damage would not be noticed\n"
            "catoptra: error: 'a.h5' is one instant, 'b.h5' is a schedule\n  allowed: results of one kind\n",
        )

    def test_one_alone(self):
        self.refused(["compare", "a.h5"], "catoptra: error: compare takes 2 to 26 results, not 1\n")

    def test_a_scene_among_them(self):
        self.refused(
            ["compare", "a.h5", "dish.toml"],
            "catoptra: error: 'dish.toml' is a scene, not a result\n  did you mean 'catoptra look dish.toml'?\n",
        )

    def test_the_page_must_not_take_a_results_place(self):
        self.refused(
            ["compare", "a.h5", "b.h5", "-o", "c.h5"],
            "catoptra: error: --output is 'c.h5'\n  allowed: the name of a page, which ends in .html\n",
        )


if __name__ == "__main__":
    program.main()
