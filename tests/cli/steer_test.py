"""A day of a steered mirror as a person runs it: files, numbers, messages."""

import csv
import json
import pathlib
import signal
import subprocess
import time

import h5py
import numpy
import xarray

import program
from program import ProgramTest

# A bowl with a mirror that moves before its focus: an invented scene.
BOWL = """schema = 1
title = "Small bowl on the plateau test field (invented)"

[site]
latitude_deg = 31.2
longitude_deg = -7.9
altitude_m = 800

[sun]
at = 2026-06-21T13:30:00+01:00
shape = { kind = "disc" }

[finish.silver]
kind = "mirror"
reflectance = 0.94

[finish.black]
kind = "absorber"
absorptance = 0.95

[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 10 }
aperture = { kind = "circle", diameter_m = 9 }
finish = "silver"
mount = { kind = "fixed" }

[[secondary]]
name = "pilot"
shape = { kind = "conic", radius_of_curvature_m = -7, conic_constant = -7 }
aperture = { kind = "circle", diameter_m = 2.5 }
finish = "silver"
mount = { kind = "steered", home_m = [0, 0, 3.4], travel_m = [2.5, 2.5, 0], tilt_deg = 40, clearance_m = 0.2 }

[[receiver]]
name = "tube"
shape = { kind = "cylinder", radius_m = 0.35, length_m = 1.5 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 1.6] }
"""
QUICK = ["--samples", "2^14", "--search-samples", "2^11", "--replicates", "8", "--quiet"]
DAY = ["--day", "2026-06-21", "--every", "2h"]
MOUNT = 'mount = { kind = "steered", home_m = [0, 0, 3.4], travel_m = [2.5, 2.5, 0], tilt_deg = 40, clearance_m = 0.2 }'


class SteerTest(ProgramTest):
    def setUp(self):
        super().setUp()
        (self.folder / "dish.toml").unlink()
        self.write(BOWL)

    def write(self, text):
        (self.folder / "bowl.toml").write_text(text)


class Day(SteerTest):
    def test_day_of_a_bowl(self):
        code, out, err = self.run_program(
            "steer", "bowl.toml", *DAY, *QUICK, "--json", "--poses", "poses.csv", environment={"SOURCE_DATE_EPOCH": "0"}
        )
        self.assertEqual((code, err), (0, ""))
        found = json.loads(out)
        self.assertEqual(self.files(), ["bowl-steer.csv", "bowl-steer.h5", "bowl.toml", "poses.csv"])
        # Sunrise at 6:28, sunset at 20:39 (tests/unit/sun/astropy_events.inc): the even hours between.
        hours = [f"2026-06-21T{hour:02}:00:00+01:00" for hour in range(8, 21, 2)]
        self.assertEqual([sun["local_time"] for sun in found["suns"]], hours)
        data = xarray.open_dataset(self.folder / "bowl-steer.h5")
        times = numpy.array([hour[:19] for hour in hours], "datetime64[ns]") - numpy.timedelta64(1, "h")
        numpy.testing.assert_array_equal(data["time"].values, times)
        with h5py.File(self.folder / "bowl-steer.h5") as file:
            self.assertEqual(file["scene/source"][()].decode(), BOWL)
            self.assertEqual(file.attrs["content"], "schedule")
            pose = file["poses/pilot"]
            offset, position = pose["offset_m"][:], pose["position_m"][:]
            numpy.testing.assert_allclose(position - offset, [[0, 0, 3.4]] * 7, atol=1e-12)
            self.assertTrue((numpy.abs(offset) <= [2.5, 2.5, 0]).all())
            axis = pose["axis"][:]
            numpy.testing.assert_allclose(numpy.linalg.norm(axis, axis=1), 1, rtol=1e-14)
            self.assertTrue((-axis[:, 2] >= numpy.cos(numpy.radians(40)) - 1e-9).all())
            numpy.testing.assert_allclose(pose["velocity_m_s"][1:], numpy.diff(offset, axis=0) / 7200, atol=1e-15)
            self.assertTrue(numpy.isnan(pose["velocity_m_s"][0]).all())
            # No watt is lost: what the terms leave over is nothing within its error, which would show a hundredth.
            total_W = file["sun/dni_W_m2"][()] * file["aperture_area_m2"][()]
            closure_W, closure_error_W = file["closure_W"][:], file["closure_standard_error_W"][:]
            numpy.testing.assert_allclose(file["budget/power_W"][:].sum(axis=1) + closure_W, total_W, rtol=1e-9)
            self.assertTrue((abs(closure_W) < 5 * closure_error_W).all())
            self.assertTrue((5 * closure_error_W < 0.01 * total_W).all())
            # The optical efficiency is absorbed power over that; the day's best is near noon.
            efficiency = file["optical_efficiency"][:]
            numpy.testing.assert_allclose(file["budget/power_W"][:, -1] / total_W, efficiency, rtol=1e-12)
            self.assertIn(numpy.argmax(efficiency), [2, 3])
            self.assertEqual([sun["optical_efficiency"]["value"] for sun in found["suns"]], list(efficiency))
        with open(self.folder / "bowl-steer.csv", newline="") as file:
            rows = list(csv.DictReader(file))
        self.assertEqual([float(row["optical_efficiency"]) for row in rows], list(efficiency))
        self.assertEqual([float(row["pilot.x_m"]) for row in rows], list(position[:, 0]))

        # The final numbers are those of a plain trace of the pose table's scene, at one of its suns, with its seed.
        row = rows[3]
        text = BOWL.replace(MOUNT, 'mount = { kind = "table", file = "poses.csv" }').replace(
            "at = 2026-06-21T13:30:00+01:00",
            f"azimuth_deg = {row['azimuth_deg']}\nelevation_deg = {row['elevation_deg']}",
        )
        self.write(text)
        code, out, err = self.run_program(
            "trace", "bowl.toml", "-n", "2^14", "--replicates", "8", "--seed", row["seed"], "--json"
        )
        self.assertEqual((code, err), (0, ""))
        traced = json.loads(out)["optical_efficiency"]["value"]
        self.assertAlmostEqual(traced / float(row["optical_efficiency"]), 1, delta=1e-6)

    def test_long_steps_do_not_lose_the_light(self):
        # From noon to half past ten the image moves out of a flat mirror's reach: continued in one step, no pose that was
        # tried there caught any light.
        scene = pathlib.Path(__file__).parents[2] / "scenes" / "comparison" / "warm" / "bowl-flat.toml"
        words = ["--day", "2026-03-20", "--every", "90min", "--search-samples", "2^11", "--samples", "2^12"]
        self.run_program("steer", str(scene), *words, "-o", "long.h5")
        with h5py.File(self.folder / "long.h5") as long:
            efficiency = long["optical_efficiency"][:]
        # Steps of 30 minutes find 0.476 and 0.525 there.
        self.assertGreater(efficiency[2], 0.4)  # 10:30
        self.assertGreater(efficiency[4], 0.4)  # 13:30

    def test_any_number_of_threads_gives_the_same_files(self):
        epoch = {"SOURCE_DATE_EPOCH": "0"}
        tables = []
        for threads in ["1", "2", "7"]:
            code, out, err = self.run_program(
                "steer", "bowl.toml", *DAY[:2], "--every", "6h", *QUICK, "--threads", threads, environment=epoch
            )
            self.assertEqual((code, err), (0, ""))
            tables.append((self.folder / "bowl-steer.csv").read_bytes())
        self.assertEqual(tables[0], tables[1])
        self.assertEqual(tables[0], tables[2])

    def test_own_sun_without_a_day(self):
        code, out, err = self.run_program("steer", "bowl.toml", *QUICK, "-o", "noon.h5")
        self.assertEqual((code, err), (0, ""))
        self.assertIn("1 sun position, poses searched for the best absorbed; 16384 samples each", out)
        self.assertIn("schedule: noon.h5 and noon.csv", out)
        self.assertIn("concentrated sunlight burns and blinds", out)
        with open(self.folder / "noon.csv", newline="") as file:
            (row,) = csv.DictReader(file)
        self.assertEqual((row["time_utc"], row["local_time"]), ("", "2026-06-21T13:30:00+01:00"))

    def test_tolerance(self):
        code, out, err = self.run_program("steer", "bowl.toml", *QUICK, "--tolerance", "--json")
        self.assertEqual((code, err), (0, ""))
        curves = json.loads(out)["tolerance"]["pilot"]
        self.assertEqual(
            sorted(curves),
            [
                "focus", "pointing_x", "pointing_y", "pointing_z", "position_east", "position_north", "position_up",
                "slope",
            ],  # fmt: skip
        )
        losses = [entry["value"] for entry in curves["pointing_x"]["error_at_loss_mrad"]]
        self.assertEqual(losses, sorted(losses))
        with h5py.File(self.folder / "bowl-steer.h5") as file:
            curve = file["tolerance/pilot/pointing_x"]
            self.assertEqual(list(curve["error_at_loss_mrad"]), losses)
            # What is read off the curve lies on it: straight in the square of the error, on the side that loses more.
            error, share = curve["error_mrad"][:], curve["absorbed_share"][:]
            sides = [
                numpy.interp(numpy.square(losses), error[side] ** 2, share[side])
                for side in (error >= 0, numpy.flatnonzero(error <= 0)[::-1])
            ]
            numpy.testing.assert_allclose(numpy.minimum(*sides), [0.99, 0.95, 0.90], atol=1e-9)
        with open(self.folder / "bowl-steer-tolerance.csv", newline="") as file:
            rows = list(csv.DictReader(file))
        self.assertEqual(len(rows), 7 * 21 + 11)

    def test_every_objective(self):
        for objective in ["intercept", "peak", "mean_concentration", "absorbed_power"]:
            code, out, err = self.run_program("steer", "bowl.toml", *QUICK, "--objective", objective, "--json")
            self.assertEqual((code, err), (0, ""))
            self.assertEqual(json.loads(out)["objective"], objective)

    def test_ctrl_c_keeps_the_suns_that_are_done(self):
        """Later each time, until a sun was done by then; the checkpoint brings what was found before."""
        for seconds in [4, 8, 16, 32, 64]:
            running = subprocess.Popen(
                [program.PROGRAM, "steer", "bowl.toml", "--day", "2026-06-21", "--every", "1min", *QUICK],
                cwd=self.folder,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
            time.sleep(seconds)
            running.send_signal(signal.SIGINT)
            out, err = running.communicate(timeout=120)
            self.assertEqual(running.returncode, 75)
            if (self.folder / "bowl-steer.h5").exists():
                break
        with h5py.File(self.folder / "bowl-steer.h5") as file:
            done = len(file["time"])
            self.assertEqual(file.attrs["interrupted"], 1)
        self.assertGreater(done, 0)
        self.assertRegex(
            err, rf"\Acatoptra: stopped; the {done} of \d+ suns done are kept in 'bowl-steer.h5'; the same command goes on\n\Z"
        )


class Messages(SteerTest):
    def refused(self, words, message):
        code, out, err = self.run_program("steer", "bowl.toml", *words)
        self.assertEqual(err, message)
        self.assertEqual((code, out), (2, ""))
        self.assertEqual(self.files(), ["bowl.toml"])

    def test_nothing_steered(self):
        self.write(BOWL.replace(MOUNT, 'mount = { kind = "fixed", position_m = [0, 0, 3.4], axis = [0, 0, -1] }'))
        self.refused(
            DAY,
            "bowl.toml: error: nothing to steer: every mount is fixed\n"
            '  allowed: mount = { kind = "steered", home_m = [x, y, z], travel_m = [x, y, z], tilt_deg = a }\n'
            "  or a mount that follows a law, such as turn_about_centre\n",
        )

    def test_nothing_free(self):
        self.write(BOWL.replace(MOUNT, 'mount = { kind = "steered", home_m = [0, 0, 3.4] }'))
        line = BOWL.splitlines().index(MOUNT) + 1
        self.refused(
            DAY,
            f"bowl.toml:{line}:9: warning: secondary 'pilot' is steered but can't move\n"
            f'   {line} | mount = {{ kind = "steered", home_m = [0, 0, 3.4] }}\n'
            f"      |         {'^' * 42}\n"
            '  allowed: more than 0 in travel_m, tilt_deg or roll_limit_deg; kind = "fixed" for what stands still\n'
            f"bowl.toml:{line}:18: error: nothing to steer: the mount leaves no degree of freedom\n"
            f'   {line} | mount = {{ kind = "steered", home_m = [0, 0, 3.4] }}\n'
            "      |                  ^^^^^^^^^\n"
            "  allowed: more than 0 in travel_m, tilt_deg or roll_limit_deg\n",
        )

    def test_no_site(self):
        self.write(
            BOWL.replace("[site]\nlatitude_deg = 31.2\nlongitude_deg = -7.9\naltitude_m = 800\n", "").replace(
                "at = 2026-06-21T13:30:00+01:00", "azimuth_deg = 180\nelevation_deg = 80"
            )
        )
        self.refused(
            DAY,
            "catoptra: error: --day needs to know where 'bowl.toml' stands\n"
            "  allowed: a table [site] with latitude_deg and longitude_deg in it\n",
        )

    def test_polar_night(self):
        self.write(
            BOWL.replace("latitude_deg = 31.2", "latitude_deg = 78").replace(
                "at = 2026-06-21T13:30:00+01:00", "at = 2026-06-21T13:30:00+00:00"
            )
        )
        code, out, err = self.run_program("steer", "bowl.toml", "--day", "2026-12-21")
        self.assertRegex(
            err,
            r"\Acatoptra: error: --day is '2026-12-21': polar night: on 2026-12-21 the sun does not rise; it stands "
            r"-11\.4\d degrees above the horizon at most\n\Z",
        )
        self.assertEqual((code, out, self.files()), (2, "", ["bowl.toml"]))

    def test_dates(self):
        allowed = "\n  allowed: a date from 1950-01-01 to 2050-12-31, as 2026-06-21\n"
        for wrong in ["2026", "21.6.2026", "2026-6-21", "2026/06/21", "+026-06-21", "today"]:
            with self.subTest(wrong):
                self.refused([f"--day={wrong}"], f"catoptra: error: --day is '{wrong}'{allowed}")
        self.refused(
            ["--day", "2026-02-29"], f"catoptra: error: --day is '2026-02-29': the month has no day 29{allowed}"
        )

    def test_other_options(self):
        times = "  allowed: a number with its unit, s, min or h, from 1 s to 24 h: 10min"
        for words, message in [
            (["--every", "0min"], f"--every is '0min'\n{times}"),
            (["--every", "10"], f"--every is '10'\n{times}"),
            (
                ["--utc-offset", "1"],
                "--utc-offset is '1'\n  allowed: hours and minutes ahead of UTC from -14:59 to +14:59, as +01:00",
            ),
            (
                ["--objective", "absorb"],
                "unknown word for --objective 'absorb'\n  allowed: absorbed, intercept, peak, mean_concentration, "
                "absorbed_power\n"
                "  did you mean 'absorbed'?",
            ),
            (
                ["-o", "a.csv"],
                "--output is 'a.csv'\n  allowed: another ending than .csv, which the table beside it has",
            ),
            (["-o", "bowl.toml"], "--output is 'bowl.toml', a file that the scene is read from"),
            (["--smooth", "1"], "--smooth is '1'\n  allowed: more than 0% and less than 100%, with the sign: 0.1%"),
        ]:
            with self.subTest(words):
                self.refused([*DAY[:2], *words], f"catoptra: error: {message}\n")
        self.refused(
            ["--every", "10min"],
            "catoptra: error: --every and --utc-offset need --day or --twelve-days\n  allowed: --day 2026-06-21 --every 10min\n",
        )

    def test_year_has_another_name(self):
        code, out, err = self.run_program("steer", "bowl.toml", "--year", "2026")
        self.assertEqual((code, out), (2, ""))
        self.assertTrue(err.startswith("catoptra: error: unknown option of steer '--year'\n  allowed: "), err)
        self.assertTrue(err.endswith("\n  did you mean '--twelve-days'?\n"), err)

    def test_no_room(self):
        self.write(BOWL.replace("clearance_m = 0.2", "clearance_m = 20"))
        line = BOWL.splitlines().index(MOUNT) + 1
        column = MOUNT.index("0.2 }") + 1
        # The bowl's rim stands 1.07 m above its vertex; home is 3.4 m up, and the mount has no travel in height.
        code, out, err = self.run_program("steer", "bowl.toml", *DAY, "--quiet")
        self.assertRegex(
            err,
            rf"\Acatoptra: error: bowl.toml:{line}:{column}: no pose within the limits keeps 'pilot' 20 m from '(bowl|tube)' "
            r"\(clearance_m\): the best found falls short by 1[6-9] m(, at the end of its range in pilot: [a-z, :]+)?\n\Z",
        )
        self.assertEqual((code, out, self.files()), (2, "", ["bowl.toml"]))

    def test_help_names_every_option(self):
        code, out, _ = self.run_program("steer", "--help")
        self.assertEqual(code, 0)
        for option in ["--day", "--every", "--objective", "--smooth", "--samples", "--seed", "--threads", "--json"]:
            self.assertIn(option, out)


if __name__ == "__main__":
    program.main()
