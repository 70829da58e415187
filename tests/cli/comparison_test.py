"""The scenes of docs/comparison.md and the scripts that compare them."""

import csv
import math
import os
import pathlib
import subprocess
import sys
import tomllib
import unittest

import program
from program import ProgramTest

PROJECT = pathlib.Path(__file__).resolve().parents[2]
SCENES = sorted((PROJECT / "scenes" / "comparison").glob("*/*.toml"))
sys.path.insert(0, str(PROJECT / "tools" / "study"))
import one_day  # noqa: E402


class Scenes(ProgramTest):
    def test_each_is_sound_and_none_is_favoured(self):
        self.assertGreaterEqual(len(SCENES), 14)
        warm, hot = ({path.name for path in SCENES if path.parent.name == loss} for loss in ("warm", "hot"))
        self.assertEqual(warm, hot)
        same = {}
        for path in SCENES:
            with self.subTest(scene=f"{path.parent.name}/{path.name}"):
                code, out, err = self.run_program("check", str(path))
                self.assertEqual((code, err), (0, ""))
                self.assertIn("100 m2 of aperture", out)
                scene = tomllib.loads(path.read_text())
                for key in ("sun", "finish", "site"):
                    self.assertEqual(scene[key], same.setdefault(key, scene[key]))
                self.assertNotIn("front", scene["receiver"][0]["shape"])  # its outer side counts, in all of them


class Day(ProgramTest):
    def run_script(self, *words):
        return subprocess.run([PROJECT / "tools" / "study" / "compare-day", *words], cwd=self.folder, text=True, capture_output=True,
                              env=os.environ | {"CATOPTRA": program.PROGRAM})  # fmt: skip

    def test_trackers_at_the_equator_at_equinox(self):
        done = self.run_script("dish", "trough", "bowl-cup", "bowl-flat", "--latitude", "0", "--loss", "warm", "--every",
                               "180", "--samples", "2^12", "--search-samples", "2^8", "--csv", "day.csv")  # fmt: skip
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("| dish, two axes |", done.stdout)
        with open(self.folder / "day.csv", newline="") as file:
            days = {row["concept"]: {k: float(v) for k, v in row.items() if k not in ("concept", "tuned_for", "day")}
                    for row in csv.DictReader(file)}  # fmt: skip
        self.assertEqual(list(days), ["dish", "trough", "bowl-cup", "bowl-flat"])
        # A dish faces the sun. So does a trough about a north-south axis, as the sun then runs in the vertical plane
        # across it. Mirrors that lie still see it aslant, by the sine of its elevation.
        self.assertAlmostEqual(days["dish"]["of_incident"], days["dish"]["absorbed"], 9)
        self.assertAlmostEqual(days["trough"]["of_incident"], days["trough"]["absorbed"], 3)
        self.assertLess(days["bowl-cup"]["absorbed"], 0.95 * days["bowl-cup"]["of_incident"])
        # What a dish collects: what its receiver does not shade, x reflectance x intercept factor x absorptance.
        dish, scene = days["dish"], one_day.load("dish")
        shaded = (scene["receiver"][0]["shape"]["diameter_m"] / scene["primary"][0]["aperture"]["diameter_m"]) ** 2
        expected = (1 - shaded) * 0.94 * dish["intercept"] * 0.95
        self.assertLess(abs(dish["absorbed"] - expected), 5 * dish["absorbed_error"])
        self.assertGreater(abs(dish["absorbed"] - expected / 0.95), 5 * dish["absorbed_error"])  # the negative twin

    def test_a_word_that_is_no_concept(self):
        done = self.run_script("bowl-cap")
        self.assertEqual(done.returncode, 2)
        self.assertIn("no concept 'bowl-cap'; allowed: dish, trough", done.stderr)
        self.assertEqual(self.files(), ["dish.toml"])


class Parts(unittest.TestCase):
    def test_clear_sky(self):
        """Air mass 1 overhead, 2 at 30 degrees (1/sin, plane air), some 38 at the horizon: common practice, no source."""
        self.assertAlmostEqual(one_day.clear_sky_dni_W_m2(90), 1353 * 0.7, delta=1)
        self.assertAlmostEqual(one_day.clear_sky_dni_W_m2(30), 1353 * 0.7 ** (2**0.678), delta=2)
        self.assertAlmostEqual(one_day.clear_sky_dni_W_m2(0), 1353 * 0.7 ** (38**0.678), delta=1)

    def test_heat_loss_counts_while_it_pays(self):
        row = {"aperture_m2": 100, "receiver_m2": 2, "incident": 80, "absorbed": 50, "error": 1, "spilled": 10, "mean": 30,
               "peak": 40, "peak_error": 1}  # fmt: skip
        high, low = row | {"elevation_deg": 90}, row | {"elevation_deg": 90, "absorbed": 1}
        day = one_day.day_sum([high, low], 1000, 60)
        dni = one_day.clear_sky_dni_W_m2(90)
        self.assertAlmostEqual(day["net"], (50 * dni - 2000) / (2 * 100 * dni))  # the second hour would cost more
        self.assertEqual(day["hours"], 1)
        self.assertAlmostEqual(day["absorbed"], 51 / 200)
        self.assertAlmostEqual(day["intercept"], 60 / 70)

    def test_receivers_under_steered_mirrors_stand_clear_of_their_bowls(self):
        for path in SCENES:
            tuned = one_day.load(path.stem, path.parent.name)
            if not one_day.is_steered(tuned):
                continue
            for latitude_deg in (-50, 0, 20, 35, 50):
                scene = one_day.sited(path.stem, tuned, latitude_deg)
                (bowl,), (disc,) = scene["primary"], scene["receiver"]
                x_m, y_m, z_m = disc["mount"]["position_m"]
                for turn in range(36):
                    angle, r_m = math.radians(10 * turn), disc["shape"]["diameter_m"] / 2
                    edge = x_m + r_m * math.cos(angle), y_m + r_m * math.sin(angle), z_m
                    if math.hypot(*edge[:2]) > bowl["aperture"]["diameter_m"] / 2:
                        continue
                    # On the side of the sphere about (0, 0, R) where its centre is.
                    radius_m = bowl["shape"]["radius_m"]
                    self.assertLess(math.dist(edge, (0, 0, radius_m)), radius_m - 0.005, (path, latitude_deg))

    def test_unknown_path_is_refused(self):
        with self.assertRaises(KeyError):
            one_day.changed(one_day.load("dish"), {"receiver.0.shape.diametre_m": 1})


if __name__ == "__main__":
    program.main()
