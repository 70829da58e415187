"""The shape search as a person runs it: --free, the best scene, messages."""

import json
import math
import signal
import subprocess
import time

import h5py
import numpy

import program
import steer_test
from program import ProgramTest

EPOCH = {"SOURCE_DATE_EPOCH": "0"}
# The focus of program.DISH lies 5 m up; here its absorber stands too low.
LOW = program.DISH.replace("position_m = [0, 0, 5]", "position_m = [0, 0, 4.9]")
HEIGHT = "receiver.absorber.mount.position_m.z"
QUICK = ["--samples", "2^15", "--search-samples", "2^11", "--replicates", "8", "--quiet"]


def place(words):
    """Where `words` stand in LOW, as a message tells it."""
    before = LOW[: LOW.index(words)]
    return f"dish.toml:{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}: "


class FreeTest(ProgramTest):
    def setUp(self):
        super().setUp()
        self.write(LOW)

    def write(self, text):
        (self.folder / "dish.toml").write_text(text)

    def read(self, name):
        return (self.folder / name).read_text()


class Search(FreeTest):
    def test_best_scene_traces_as_it_stands(self):
        self.assertNotEqual(LOW, program.DISH)
        free = ["--free", HEIGHT + "=4.6..5.5", "--evaluations", "30"]
        code, out, err = self.run_program("steer", "dish.toml", *free, *QUICK, "--json", environment=EPOCH)
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(self.files(), ["dish-best.toml", "dish-steer.csv", "dish-steer.h5", "dish.toml"])
        design = json.loads(out)["design"]
        (parameter,) = design["parameters"]
        self.assertEqual([parameter[key] for key in ("parameter", "low", "high", "original")], [HEIGHT, 4.6, 5.5, 4.9])
        # The slope errors blur the image by 2 x 3 mrad x 5 m = 30 mm rms, the disc is 50 mm wide to either side, and
        # the cone from the rim (t = r/2f = 0.4) opens by tan(2 atan 0.4) = 0.95: 20 mm off the focus cost as much
        # of the disc's width. So the best height lies near the focal length (a property of the paraboloid).
        best = parameter["best"]
        self.assertAlmostEqual(best, 5, delta=0.03)

        # The scene is the old one but for its head and this number.
        head, text = self.read("dish-best.toml").split("\n\n", 1)
        self.assertEqual(text, LOW.replace("[0, 0, 4.9]", f"[0, 0, {best:.12g}]"))
        self.assertTrue(all(line.startswith("# ") for line in head.splitlines()))
        self.assertIn(f"#   {HEIGHT} = {best:.12g} (before: 4.9; allowed: 4.6 to 5.5)", head)

        # It gives what was promised, by other samples, within the errors of both; the scene as it was does not.
        for name, key in [("dish.toml", "original_mean"), ("dish-best.toml", "best_mean")]:
            code, out, err = self.run_program("trace", name, "-n", "2^17", "--seed", "77", "--json", "--quiet")
            self.assertEqual((code, err), (0, ""))
            traced, promised = json.loads(out)["optical_efficiency"], design[key]
            error = math.hypot(traced["standard_error"], promised["standard_error"])
            self.assertLess(abs(traced["value"] - promised["value"]), 4 * error)
        self.assertGreater(traced["value"] - design["original_mean"]["value"], 20 * error)

        with h5py.File(self.folder / "dish-steer.h5") as file:
            self.assertEqual(file["scene/source"][()].decode(), self.read("dish-best.toml"))
            self.assertEqual(file["scene/source"].attrs["path"], "dish-best.toml")
            self.assertEqual(file["design/original_source"][()].decode(), LOW)
            found = file["design"]
            objective, values = found["objective"][:], found["value"][:, 0]
            self.assertEqual(values[0], 4.9)
            self.assertLessEqual(len(values), 30)
            self.assertTrue(((values >= 4.6) & (values <= 5.5)).all())
            chosen = found["variant"].attrs["best"]
            self.assertEqual((chosen, values[chosen]), (numpy.argmax(objective), best))
            self.assertEqual(list(objective), [variant["objective"] for variant in design["variants"]])
            self.assertEqual(found["best_mean_standard_error"][()], design["best_mean"]["standard_error"])

    def test_any_number_of_threads_gives_the_same_files(self):
        found = []
        for threads in ["1", "7"]:
            code, out, err = self.run_program(
                "steer",
                "dish.toml",
                "--free",
                HEIGHT + "=4.6..5.5",
                "--free",
                "finish.silver.slope_error_mrad=1..5",
                "--evaluations",
                "9",
                *QUICK,
                "--threads",
                threads,
                environment=EPOCH,
            )
            self.assertEqual((code, err), (0, ""))
            self.assertIn("search: 9 variants tried at 1 of the sun positions", out)
            self.assertIn("best scene: dish-best.toml\nschedule: dish-steer.h5 and dish-steer.csv\n", out)
            self.assertIn("concentrated sunlight burns and blinds", out)
            found.append((self.read("dish-best.toml"), self.read("dish-steer.csv")))
        self.assertEqual(found[0], found[1])

    def test_year_of_suns_and_the_aperture(self):
        site = "[site]\nlatitude_deg = 31.2\nlongitude_deg = -7.9\n\n[sun]"
        text = LOW.replace("[sun]", site).replace(
            "azimuth_deg = 180\nelevation_deg = 90", "at = 2026-06-21T13:30:00+01:00"
        )
        self.write(
            text.replace('kind = "fixed", position_m = [0, 0, 0]', 'kind = "two_axis"').replace(
                'kind = "fixed", position_m = [0, 0, 4.9]', 'kind = "carried", by = "dish", position_m = [0, 0, 5]'
            )
        )
        code, out, err = self.run_program(
            "steer",
            "dish.toml",
            "--twelve-days",
            "2026",
            "--every",
            "3h",
            "--free",
            "primary.dish.aperture.diameter_m=2..9",
            "--objective",
            "absorbed_power",
            "--evaluations",
            "12",
            *QUICK,
            "--json",
        )
        self.assertEqual((code, err), (0, ""))
        found = json.loads(out)
        times = [sun["local_time"] for sun in found["suns"]]
        self.assertEqual(times, sorted(times))
        self.assertEqual({time[:10] for time in times}, {f"2026-{month:02}-21" for month in range(1, 13)})
        # A wider mirror brings more power, always: the search ends at the widest.
        self.assertEqual(found["design"]["parameters"][0]["best"], 9)
        # Power is absorbed share x DNI x area; the dish faces every sun.
        mean = numpy.mean([sun["optical_efficiency"]["value"] for sun in found["suns"]])
        self.assertAlmostEqual(
            found["design"]["best_mean"]["value"] / (mean * 1000 * math.pi * 4.5**2), 1, delta=0.01
        )

    def test_steered_mirror(self):
        (self.folder / "bowl.toml").write_text(steer_test.BOWL.replace("T13:30:00", "T16:00:00"))
        code, out, err = self.run_program(
            "steer",
            "bowl.toml",
            "--day",
            "2026-06-21",
            "--every",
            "4h",
            "--evaluations",
            "8",
            "--best",
            "b.toml",
            "--free",
            "secondary.pilot.shape.radius_of_curvature_m=-12..-5",
            *QUICK,
            "--json",
        )
        self.assertEqual((code, err), (0, ""))
        self.assertIn(", pose = { offset_m = [", self.read("b.toml"))
        code, out, err = self.run_program("check", "b.toml")
        self.assertEqual((code, err), (0, ""))
        # Posed for the scene's own sun, low in the west, whose light home does not catch.
        shares = []
        for name in ["bowl.toml", "b.toml"]:
            code, out, err = self.run_program("trace", name, "-n", "2^15", "--json", "--quiet")
            shares.append(json.loads(out)["optical_efficiency"])
        error = math.hypot(shares[0]["standard_error"], shares[1]["standard_error"])
        self.assertGreater(shares[1]["value"] - shares[0]["value"], 20 * error)

    def test_ctrl_c_keeps_the_best_so_far(self):
        running = subprocess.Popen(
            [
                program.PROGRAM,
                "steer",
                "dish.toml",
                "--free",
                HEIGHT + "=4.6..5.5",
                "--free",
                "receiver.absorber.shape.diameter_m=0.05..0.2",
                "--evaluations",
                "1M",
                "--search-samples",
                "2^20",
                "-n",
                "2^14",
                "--quiet",
            ],
            cwd=self.folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        time.sleep(6)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=120)
        self.assertEqual(running.returncode, 75)
        with h5py.File(self.folder / "dish-steer.h5") as file:
            tried = len(file["design/variant"])
        self.assertEqual(err, f"catoptra: stopped; the best of the {tried} variants done is kept in 'dish-best.toml'; the same command goes on\n")
        self.assertGreater(tried, 0)
        code, out, err = self.run_program("trace", "dish-best.toml", "-n", "2^14", "--quiet")
        self.assertEqual((code, err), (0, ""))


class Messages(FreeTest):
    def refused(self, words, message):
        before = self.files()
        code, out, err = self.run_program("steer", "dish.toml", *words)
        self.assertEqual(err, f"catoptra: error: {message}\n")
        self.assertEqual((code, out), (2, ""))
        self.assertEqual(self.files(), before)
        self.assertEqual(self.read("dish.toml"), LOW)

    def test_ranges(self):
        for wrong in [HEIGHT, HEIGHT + "=4", HEIGHT + "=4..", HEIGHT + "=4..5m", "=4..5", HEIGHT + "=4-5"]:
            with self.subTest(wrong):
                self.refused(
                    ["--free", wrong],
                    f"--free is '{wrong}'\n  allowed: a path, =, a lower number, two dots and a higher number, in the "
                    "unit of the key: secondary.pilot.shape.conic_constant=-3..0",
                )
        for wrong in ["5..5", "6..5", "nan..5", "0..inf"]:
            with self.subTest(wrong):
                self.refused(
                    ["--free", f"{HEIGHT}={wrong}"],
                    f"--free is '{HEIGHT}={wrong}': the range is empty or endless\n"
                    "  allowed: two finite numbers, the lower first",
                )

    def test_paths(self):
        for free, message in [
            (
                "receiver.absorbr.shape.diameter_m=1..2",
                place("[[receiver]]") + "'receiver.absorbr.shape.diameter_m': nothing in 'receiver' is called 'absorbr'\n"
                "  allowed: absorber\n  did you mean 'absorber'?",
            ),
            (
                "receiver.absorber.shape.diameter=1..2",
                place("{ kind = \"disc\", diameter_m") + "'receiver.absorber.shape.diameter': nothing in 'receiver.absorber.shape' is called 'diameter'\n"
                "  allowed: diameter_m, kind\n  did you mean 'diameter_m'?\n"
                "  a key that is left to its default must first be written in the scene",
            ),
            ("receiver.absorber.shape.kind=1..2", place('"disc", diameter') + "'receiver.absorber.shape.kind' is no number: text \"disc\""),
            (
                "finish.silver.reflectance=0.5..1.5",
                place("0.9\n") + "'finish.silver.reflectance' can't be 1.5: 'reflectance' in finish 'silver' is out of range\n"
                "  allowed: a number from 0 to 1, or rows [[incidence angle in degrees, number from 0 to 1], ...], the "
                "angles rising from 0 to 90",
            ),
        ]:
            with self.subTest(free):
                self.refused(["--free", free], f"--free: {message}")
        self.refused(
            ["--free", HEIGHT + "=4..5", "--free", HEIGHT[:-1] + "2=4..5"],
            f"--free names the same number twice: '{HEIGHT}' and '{HEIGHT[:-1]}2'\n  allowed: each once",
        )

    def test_other_options(self):
        free = ["--free", HEIGHT + "=4..5"]
        for words, message in [
            (
                ["--best", "a.toml"],
                "--best and --evaluations go with --free\n"
                "  allowed: --free secondary.pilot.shape.conic_constant=-3..0",
            ),
            ([*free, "--best", "dish.toml"], "--best is 'dish.toml', a file that the scene is read from"),
            ([*free, "--best", "a.h5", "-o", "a.h5"], "--best is 'a.h5', a file that is written already"),
            (
                [*free, "--evaluations", "0"],
                "--evaluations is '0'\n"
                "  allowed: a whole number from 1 to 1e+06, written like 250000, 1e6, 2^20, 500k or 1.5M",
            ),
            ([*free, "--tolerance"], "--tolerance is about moving components, and the scene has none (arrays not counted)"),
            (
                [*free, "--day", "2026-06-21", "--twelve-days", "2026"],
                "--day and --twelve-days exclude each other\n  allowed: one of them",
            ),
            ([*free, "--twelve-days", "26"], "--twelve-days is '26'\n  allowed: a whole number from 1950 to 2050"),
            (
                [*free, "--twelve-days", "2026"],
                "--twelve-days needs to know where 'dish.toml' stands\n"
                "  allowed: a table [site] with latitude_deg and longitude_deg in it",
            ),
        ]:
            with self.subTest(words):
                if words[0] == "--best":
                    # Without --free there is nothing to steer in a dish, which is said first.
                    (self.folder / "bowl.toml").write_text(steer_test.BOWL)
                    code, out, err = self.run_program("steer", "bowl.toml", *words)
                    self.assertEqual((code, out, err), (2, "", f"catoptra: error: {message}\n"))
                    (self.folder / "bowl.toml").unlink()
                else:
                    self.refused(words, message)

    def test_best_scene_stays_with_the_files_it_names(self):
        (self.folder / "places.csv").write_text("x_m,y_m,z_m\n0,0,0\n")
        (self.folder / "sub").mkdir()
        (self.folder / "dish.toml").write_text(
            LOW.replace(
                'mount = { kind = "fixed", position_m = [0, 0, 0] }',
                'mount = { kind = "fixed", position_m = [0, 0, 0] }\narray = { kind = "csv", file = "places.csv" }',
            )
        )
        code, out, err = self.run_program("steer", "dish.toml", "--free", HEIGHT + "=4..5", "--best", "sub/a.toml")
        self.assertEqual(
            (code, out, err),
            (
                2,
                "",
                "catoptra: error: --best is 'sub/a.toml', and the scene names other files by their paths from its "
                "folder\n  allowed: a file in the scene's folder, as ./a.toml\n",
            ),
        )


if __name__ == "__main__":
    program.main()
