"""Each option's number arrives where it is meant, in its own unit."""

import csv
import json
import unittest

import h5py

import program
from program import ProgramTest
from steer_test import BOWL, QUICK


class Trace(ProgramTest):
    def traced(self, *words):
        code, out, err = self.run_program("trace", "dish.toml", "--json", "--quiet", *words)
        self.assertEqual((code, err), (0, ""))
        return json.loads(out)

    def test_precision_is_a_share_in_percent(self):
        look = self.traced("--precision", "50%")
        first = look["intercept_factor"]["standard_error"] / look["intercept_factor"]["value"]
        # A fifth of what the first look reaches: it must go on, and it must come there.
        wanted = first / 5
        got = self.traced("--precision", f"{100 * wanted:.6f}%")
        self.assertLessEqual(got["intercept_factor"]["standard_error"] / got["intercept_factor"]["value"], 1.00001 * wanted)
        self.assertGreater(got["samples"], look["samples"])
        self.assertEqual(self.traced("--precision", f"{100 * wanted:.6f}%", "--max-samples", "2^18")["samples"], 2**18)

    def test_samples_replicates_seed_and_paths(self):
        for typed, samples in (("64k", 64000), ("2^16", 65536), ("0.1M", 100000)):
            got = self.traced("--samples", typed, "--replicates", "4", "--seed", "7", "--paths", "3")
            self.assertEqual((got["replicates"], got["seed"]), (4, 7))
            self.assertGreaterEqual(got["samples"], samples)
            self.assertLess(got["samples"], samples + 4 * 4096)
            with h5py.File(self.folder / "dish.h5") as file:
                self.assertEqual(len(file["paths/path"]), 3)
                self.assertEqual(file["budget/power_by_replicate_W"].shape[0], 4)


class Steer(ProgramTest):
    def setUp(self):
        super().setUp()
        self.write(BOWL)

    def write(self, text):
        (self.folder / "bowl.toml").write_text(text)

    def rows(self, *words):
        code, _, err = self.run_program("steer", "bowl.toml", *QUICK, *words)
        self.assertEqual((code, err), (0, ""))
        with open(self.folder / "bowl-steer.csv", newline="") as table:
            return list(csv.DictReader(table))

    def test_clock_and_steps(self):
        # Nothing to search, so that a day takes no time: the mirror turns with the sun.
        mount = BOWL[BOWL.index('mount = { kind = "steered"') :].split("\n")[0]
        law = 'mount = { kind = "turn_about_centre", primary = "bowl", position_m = [0, 0, -6.6], axis = [0, 0, -1] }'
        self.write(BOWL.replace(mount, law))
        quick = ["--samples", "2^10", "--replicates", "2", "--quiet", "--force"]  # over the schedule of another day

        def times(*words):
            code, _, err = self.run_program("steer", "bowl.toml", *quick, *words)
            self.assertEqual((code, err), (0, ""))
            with open(self.folder / "bowl-steer.csv", newline="") as table:
                return [(row["time_utc"], row["local_time"]) for row in csv.DictReader(table)]

        day = times("--day", "2026-06-21", "--every", "2h", "--utc-offset", "-03:30")
        self.assertTrue(all(local.endswith("-03:30") for _, local in day))
        # Whole even hours of that clock; 3 h 30 min later in UTC.
        self.assertIn(("2026-06-21T11:30:00Z", "2026-06-21T08:00:00-03:30"), day)
        self.assertTrue(all(int(local[11:13]) % 2 == 0 and local[14:19] == "00:00" for _, local in day))
        self.assertEqual(len(day), 7)
        ahead = times("--day", "2026-06-21", "--every", "90min", "--utc-offset", "+05:45")
        self.assertIn(("2026-06-21T09:15:00Z", "2026-06-21T15:00:00+05:45"), ahead)
        year = times("--twelve-days", "2026", "--every", "4h", "--utc-offset", "-03:30")
        self.assertEqual({local[5:10] for _, local in year}, {f"{month:02}-21" for month in range(1, 13)})
        self.assertTrue(all(int(local[11:13]) % 4 == 0 and local.endswith("-03:30") for _, local in year))
        self.assertIn(("2026-12-21T11:30:00Z", "2026-12-21T08:00:00-03:30"), year)
        # By itself a day has the offset that the scene's own time has, and ten minutes from sun to sun.
        own = times("--day", "2026-06-21")
        self.assertTrue(all(local.endswith("+01:00") for _, local in own))
        self.assertIn(("2026-06-21T12:10:00Z", "2026-06-21T13:10:00+01:00"), own)
        hours = times("--twelve-days", "2026")
        self.assertEqual({local[14:16] for _, local in hours}, {"00"})
        self.assertEqual(len({local[11:13] for _, local in hours if local.startswith("2026-03-21")}), 12)

    def test_numbers_of_the_search_and_of_the_traces(self):
        code, out, err = self.run_program(
            "steer", "bowl.toml", "--samples", "2^13", "--search-samples", "2^10", "--replicates", "2", "--seed", "11",
            "--smooth", "2.5%", "--quiet", "--json",
        )
        self.assertEqual((code, err), (0, ""))
        got = json.loads(out)
        self.assertEqual((got["search_samples"], got["search_seed"], got["seed"]), (2**10, 11, 12))
        self.assertAlmostEqual(got["travel_cost_per_m"], 0.025, places=15)
        self.assertEqual(got["samples"], 2**13)
        with h5py.File(self.folder / "bowl-steer.h5") as file:
            self.assertEqual(file.attrs["replicates"], 2)

    def test_errors_drawn_have_their_units(self):
        code, out, err = self.run_program(
            "steer", "bowl.toml", *QUICK, "--json", "--realisations", "4", "--draw", "pointing=0.1deg", "--draw",
            "position=0.3cm", "--draw", "focus=0.5%",
        )
        self.assertEqual((code, err), (0, ""))
        builds = json.loads(out)["realisations"]
        self.assertAlmostEqual(builds["rms_pointing_mrad"], 1.7453292519943295, places=12)
        self.assertAlmostEqual(builds["rms_position_mm"], 3, places=12)
        self.assertAlmostEqual(builds["rms_focus_percent"], 0.5, places=12)
        self.assertEqual(len(builds["builds"]), 4)


if __name__ == "__main__":
    program.main()
