"""Days of what follows a law, and builds with errors of their own, as a person runs them."""

import csv
import json
import pathlib

import h5py
import numpy

import program
from program import ProgramTest

SCENES = pathlib.Path(__file__).resolve().parents[2] / "scenes"
QUICK = ["--samples", "2^13", "--replicates", "8", "--quiet"]
DAY = ["--day", "2026-06-21", "--every", "2h"]


class AsBuiltTest(ProgramTest):
    def setUp(self):
        super().setUp()
        (self.folder / "dish.toml").unlink()
        self.copy("centre-cup")

    def copy(self, name):
        (self.folder / "scene.toml").write_text((SCENES / f"{name}.toml").read_text())

    def run_json(self, *words):
        code, out, err = self.run_program("steer", "scene.toml", *words, "--json")
        self.assertEqual((code, err), (0, ""))
        return json.loads(out)


class Law(AsBuiltTest):
    def test_day_of_the_centre_cup(self):
        found = self.run_json(*DAY, *QUICK, "--poses", "poses.csv")
        self.assertIs(found["searched"], False)
        self.assertNotIn("objective", found)
        with h5py.File(self.folder / "scene-steer.h5") as file:
            self.assertEqual(file.attrs["searched"], 0)
            self.assertEqual(list(file["poses"]), ["cup"])
            self.assertNotIn("offset_m", file["poses/cup"])
            # About the centre of curvature, 20 m up, with its axis at the sun.
            numpy.testing.assert_allclose(file["poses/cup/position_m"][:], [[0, 0, 20]] * len(file["time"]), atol=1e-12)
            numpy.testing.assert_allclose(file["poses/cup/axis"][:], file["sun/to_sun"][:], atol=1e-12)
            # No watt is lost: what the terms leave over is nothing within its error, which would show a hundredth.
            total_W = file["sun/dni_W_m2"][()] * file["aperture_area_m2"][()]
            closure_W, closure_error_W = file["closure_W"][:], file["closure_standard_error_W"][:]
            numpy.testing.assert_allclose(file["budget/power_W"][:].sum(axis=1) + closure_W, total_W, rtol=1e-9)
            self.assertTrue((abs(closure_W) < 5 * closure_error_W).all())
            self.assertTrue((5 * closure_error_W < 0.01 * total_W).all())
            noon = int(numpy.argmax(file["sun/elevation_deg"][:]))
            efficiency = file["optical_efficiency"][noon]

        # A pose table of it, read by a table mount, brings the same to the last bit but for rounding of the poses.
        with open(self.folder / "scene-steer.csv", newline="") as file:
            row = list(csv.DictReader(file))[noon]
        text = (SCENES / "centre-cup.toml").read_text()
        text = text.replace('{ kind = "turn_about_centre", primary = "bowl" }', '{ kind = "table", file = "poses.csv" }')
        at = next(line for line in text.splitlines() if line.startswith("at = "))
        text = text.replace(at, f"azimuth_deg = {row['azimuth_deg']}\nelevation_deg = {row['elevation_deg']}")
        (self.folder / "scene.toml").write_text(text)
        code, out, err = self.run_program(
            "trace", "scene.toml", "-n", "2^13", "--replicates", "8", "--seed", row["seed"], "--json", "-q"
        )
        self.assertEqual((code, err), (0, ""))
        self.assertAlmostEqual(json.loads(out)["optical_efficiency"]["value"], efficiency, delta=1e-6)

    def test_shipped_poses_are_those_of_the_law(self):
        for name in ["centre-cup", "centre-trough"]:
            with self.subTest(name):
                self.copy(name)
                code, _, err = self.run_program(
                    "steer", "scene.toml", "--day", "2026-06-21", "-n", "64", "--replicates", "2", "-q",
                    "--poses", "poses.csv", "-o", f"{name}.h5",
                )  # fmt: skip
                self.assertEqual((code, err), (0, ""))
                made, shipped = (
                    numpy.loadtxt(path, delimiter=",", skiprows=1)
                    for path in (self.folder / "poses.csv", SCENES / f"{name}-poses.csv")
                )
                numpy.testing.assert_allclose(made, shipped, atol=1e-9)
                self.assertGreater(len(shipped), 60)  # every ten minutes of a long day

    def test_an_array_has_numbers_but_no_poses(self):
        self.copy("tower")
        found = self.run_json("--day", "2026-06-21", "--every", "4h", "-n", "2^12", "--replicates", "4", "-q")
        self.assertEqual(found["suns"][0]["poses"], {})
        code, out, err = self.run_program(
            "steer", "scene.toml", "--day", "2026-06-21", "--every", "4h", "-n", "2^12", "--replicates", "4", "-q"
        )
        self.assertEqual((code, err), (0, ""))
        self.assertIn("no mount is free, so no search", out)
        self.assertIn("time  azim. elev.     efficiency      intercept     absorbed, W\n", out)

    def test_a_law_that_can_not_serve_the_day(self):
        self.run_json("--day", "2026-06-21", "--every", "20min", *QUICK, "--poses", "poses.csv")
        text = (SCENES / "centre-cup.toml").read_text()
        text = text.replace('{ kind = "turn_about_centre", primary = "bowl" }', '{ kind = "table", file = "poses.csv" }')
        (self.folder / "scene.toml").write_text(text)
        before_file = text[: text.index('"poses.csv"')]
        before = self.files()
        code, out, err = self.run_program("steer", "scene.toml", "--day", "2026-12-21", "--every", "2h", "-o", "b.h5")
        self.assertEqual((code, out, self.files()), (2, "", before))
        self.assertRegex(
            err,
            rf"\Acatoptra: error: scene.toml:{before_file.count(chr(10)) + 1}:{len(before_file) - before_file.rfind(chr(10))}: "
            r"'cup' [^\n]+\n"
            r"  at 2026-12-21T\d\d:00:00\+01:00, azimuth \d+\.\d\d, elevation \d+\.\d\d degrees\n"
            r"  allowed: --day, --every and --utc-offset with suns that it can serve\n\Z",
        )

    def test_search_options_without_a_search(self):
        for words in (["--objective", "peak"], ["--smooth", "1%"], ["--search-samples", "2^10"]):
            code, out, err = self.run_program("steer", "scene.toml", *words)
            self.assertEqual((code, out), (2, ""))
            self.assertEqual(
                err,
                f"catoptra: error: {words[0]} is '{words[1]}', but no mount is free to move\n"
                "  allowed: a component with a steered mount; else leave this option out\n",
            )


class Realisations(AsBuiltTest):
    def test_builds_of_the_centre_cup(self):
        draw = ["--realisations", "20", "--draw", "pointing=2mrad", "--draw", "position=1cm", "--draw", "focus=0.5%"]
        found = self.run_json(*QUICK, *draw)["realisations"]
        self.assertEqual((found["rms_pointing_mrad"], found["rms_position_mm"], found["rms_focus_percent"]), (2, 10, 0.5))
        shares = [build["absorbed_share"]["value"] for build in found["builds"]]
        self.assertAlmostEqual(found["mean_absorbed_share"]["value"], numpy.mean(shares), delta=1e-12)
        self.assertAlmostEqual(
            found["mean_absorbed_share"]["standard_error"], numpy.std(shares, ddof=1) / 20**0.5, delta=1e-12
        )
        # Weibull's plotting positions, numpy's name for k / (n + 1).
        for entry in found["absorbed_share_at"]:
            self.assertAlmostEqual(
                entry["value"], numpy.quantile(shares, entry["below"], method="weibull"), delta=1e-12
            )
        with h5py.File(self.folder / "scene-steer.h5") as file:
            self.assertEqual(list(file["realisations/absorbed_share"]), shares)
            self.assertEqual(file["realisations/cup/pointing_mrad"].shape, (20, 3))
            self.assertEqual(file["realisations/cup/focus_percent"][4], found["builds"][4]["cup"]["focus_percent"])
        with open(self.folder / "scene-steer-realisations.csv", newline="") as file:
            rows = list(csv.DictReader(file))
        self.assertEqual([float(row["absorbed_share"]) for row in rows], shares)

        # More builds only add to fewer.
        draw[1] = "21"
        more = self.run_json(*QUICK, *draw)["realisations"]
        self.assertEqual(more["builds"][:20], found["builds"])

        # Errors of nearly nothing cost nearly nothing.
        tiny = self.run_json(*QUICK, "--realisations", "3", "--draw", "pointing=0.0001mrad")["realisations"]
        for build in tiny["builds"]:
            self.assertAlmostEqual(build["absorbed_share"]["value"], 1, delta=1e-3)

    def test_messages(self):
        example = "pointing=1mrad, position=3mm, focus=0.5%, curvature=2/km"
        for words, message in [
            (["--realisations", "5"], "--realisations and --draw go together\n"
             "  allowed: --realisations 100 --draw pointing=1mrad --draw focus=0.5%"),
            (["--draw", "focus=1%"], "--realisations and --draw go together\n"
             "  allowed: --realisations 100 --draw pointing=1mrad --draw focus=0.5%"),
            (["--realisations", "5", "--draw", "pointing"],
             f"--draw is 'pointing'\n  allowed: an error and its rms: {example}"),
            (["--realisations", "5", "--draw", "pointin=1mrad"],
             "unknown word for --draw 'pointin'\n  allowed: pointing, position, focus, curvature\n"
             "  did you mean 'pointing'?"),
            (["--realisations", "5", "--draw", "pointing=1mm"],
             "--draw pointing is '1mm'\n  allowed: an rms more than 0 with its unit, up to 100mrad: " + example),
            (["--realisations", "5", "--draw", "focus=1%", "--draw", "focus=2%"],
             "--draw names focus twice\n  allowed: each error once"),
            (["--realisations", "5", "--draw", "curvature=1/km"],
             "--draw curvature is about flat mirrors that move, and the scene has none\n"
             "  allowed: focus, for curved ones"),
        ]:  # fmt: skip
            with self.subTest(words):
                code, out, err = self.run_program("steer", "scene.toml", *words)
                self.assertEqual((code, out, err), (2, "", f"catoptra: error: {message}\n"))
                self.assertEqual(self.files(), ["scene.toml"])


if __name__ == "__main__":
    program.main()
