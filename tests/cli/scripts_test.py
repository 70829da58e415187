"""Catoptra between other programs: a scene from the standard input, no result file, a check as JSON."""

import json
import math
import os
import pathlib
import re
import signal
import subprocess

import program
import steer_test
from program import ProgramTest
from results_test import shape_faults

ROOT = pathlib.Path(__file__).resolve().parents[2]
QUICK = ["--samples", "2^13", "--replicates", "4", "--quiet"]
EPOCH = {"SOURCE_DATE_EPOCH": "0"}


class ScriptsTest(ProgramTest):
    def piped(self, text, *words, **more):
        """As run_program, with `text` on the standard input."""
        done = subprocess.run(
            [program.PROGRAM, *words], cwd=self.folder, input=text, capture_output=True, timeout=300,
            env={**os.environ, **EPOCH}, **more,
        )  # fmt: skip
        return done.returncode, done.stdout.decode(), done.stderr.decode()


class StandardInput(ScriptsTest):
    def test_same_result_as_from_the_file(self):
        code, out, err = self.piped(program.DISH.encode(), "trace", "-", *QUICK, "--json")
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(self.files(), ["dish.toml", "scene.h5"])
        piped = json.loads(out)
        self.assertEqual((piped.pop("scene"), piped.pop("file")), ("<stdin>", "scene.h5"))
        code, out, err = self.run_program("trace", "dish.toml", *QUICK, "--json", environment=EPOCH)
        found = json.loads(out)
        del found["scene"], found["file"]
        self.assertEqual(piped, found)

    def test_files_count_from_the_current_folder(self):
        (self.folder / "sun").mkdir()
        (self.folder / "sun" / "shape.csv").write_text("angle_mrad,radiance\n0,1\n4,0.8\n5,0\n")
        text = program.DISH.replace('{ kind = "disc" }\n\n[finish', '{ kind = "table", file = "sun/shape.csv" }\n\n[finish')
        self.assertNotEqual(text, program.DISH)
        code, out, err = self.piped(text.encode(), "check", "-")
        self.assertEqual((code, err), (0, ""))
        self.assertIn("sunshape table", out)
        code, out, err = self.piped(text.replace("sun/shape", "shape").encode(), "check", "-")
        self.assertEqual((code, out), (2, ""))
        self.assertIn("<stdin>:8:34: error: can't read shape.csv: no such file\n", err)

    def test_messages(self):
        code, out, err = self.piped(program.DISH.replace("dni_W_m2", "dni_w_m2").encode(), "trace", "-")
        self.assertEqual((code, out, self.files()), (2, "", ["dish.toml"]))
        self.assertTrue(err.startswith("<stdin>:5:1: error: unknown key 'dni_w_m2' in [sun]\n"), err)

    def test_settings_look_steer(self):
        code, out, err = self.piped(program.DISH.encode(), "look", "-", "--set", "title=Piped")
        self.assertEqual((code, err), (0, ""))
        self.assertIn("scene.html", out)
        code, out, err = self.piped(steer_test.BOWL.encode(), "steer", "-", *steer_test.QUICK, "--poses", "p.csv")
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(
            self.files(), ["dish.toml", "p.csv", "scene-steer.csv", "scene-steer.h5", "scene.html"]
        )
        code, out, err = self.piped(
            program.DISH.encode(), "steer", "-", "--free", "receiver.absorber.mount.position_m.z=4.8..5.2",
            "--evaluations", "4", *steer_test.QUICK, "-o", "none",
        )  # fmt: skip
        self.assertEqual((code, err), (0, ""))
        self.assertIn("\nbest scene: scene-best.toml\n", out)

    def test_nothing_there(self):
        message = (
            "<stdin>: error: can't read the scene: the standard input is empty or closed\n"
            "  allowed: a scene's text, as in 'catoptra check - < scene.toml'\n"
        )
        for verb in ["check", "trace", "look", "steer"]:
            with self.subTest(verb):
                self.assertEqual(self.piped(b"", verb, "-"), (2, "", message))
                done = subprocess.run(
                    ["bash", "-c", '"$0" "$1" - <&-', program.PROGRAM, verb], cwd=self.folder, capture_output=True, text=True
                )
                self.assertEqual((done.returncode, done.stdout, done.stderr), (2, "", message))
        done = subprocess.run(["bash", "-c", '"$0" check - < .', program.PROGRAM], cwd=self.folder, capture_output=True, text=True)
        self.assertEqual(done.returncode, 2)
        self.assertTrue(done.stderr.startswith("<stdin>: error: can't read the scene: Is a directory\n"), done.stderr)
        with open("/dev/zero", "rb") as endless:
            done = subprocess.run([program.PROGRAM, "check", "-"], stdin=endless, capture_output=True, text=True)
        self.assertEqual(done.returncode, 2)
        self.assertTrue(done.stderr.startswith("<stdin>: error: can't read the scene: larger than 64 MiB\n"), done.stderr)
        self.assertEqual(self.files(), ["dish.toml"])

    def test_a_file_of_that_name_is_named_with_its_folder(self):
        (self.folder / "-").write_text(program.DISH)
        self.assertEqual(self.run_program("check", "./-")[0], 0)


class NoFile(ScriptsTest):
    def test_trace(self):
        code, out, err = self.run_program("trace", "dish.toml", *QUICK, "-o", "none", environment=EPOCH)
        self.assertEqual((code, err, self.files()), (0, "", ["dish.toml"]))
        self.assertIn("\nresult: (not written)\n", out)
        code, with_file, _ = self.run_program("trace", "dish.toml", *QUICK, environment=EPOCH)
        took = re.compile(r", [0-9.e-]+ s\n")
        self.assertEqual(took.sub("\n", with_file), took.sub("\n", out.replace("(not written)", "dish.h5")))
        code, out, err = self.run_program("trace", "dish.toml", *QUICK, "--output", "none", "--json")
        self.assertEqual((code, err), (0, ""))
        self.assertIsNone(json.loads(out)["file"])
        # A file can be called so.
        code, out, err = self.run_program("trace", "dish.toml", *QUICK, "-o", "./none")
        self.assertEqual(self.files(), ["dish.h5", "dish.toml", "none"])

    def test_steer(self):
        (self.folder / "bowl.toml").write_text(steer_test.BOWL)
        words = ["steer", "bowl.toml", *steer_test.QUICK, "-o", "none", "--poses", "poses.csv"]
        code, out, err = self.run_program(*words, "--realisations", "2", "--draw", "pointing=1mrad")
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(self.files(), ["bowl.toml", "dish.toml", "poses.csv"])
        self.assertIn("\nschedule: (not written)\n", out)
        self.assertIn("2 builds, each with its own random errors", out)
        code, out, err = self.run_program(*words, "--json")
        self.assertEqual((code, err), (0, ""))
        self.assertIsNone(json.loads(out)["file"])

    def test_a_checkpoint_has_no_place(self):
        code, out, err = self.run_program("trace", "dish.toml", "-o", "none", "--checkpoint", "30s")
        self.assertEqual(
            (code, out, err),
            (2, "", "catoptra: error: --checkpoint is '30s', and with --output none there is no file to keep it beside\n"
                    "  allowed: an output file, or --checkpoint off\n"),
        )
        self.assertEqual(self.run_program("trace", "dish.toml", *QUICK, "-o", "none", "--checkpoint", "off")[0], 0)

    def test_stopped(self):
        with subprocess.Popen(
            [program.PROGRAM, "trace", "dish.toml", "--samples", "1e12", "-o", "none", "--json"],
            cwd=self.folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        ) as running:  # fmt: skip
            running.stderr.readline()  # the first line of progress: samples are done
            running.send_signal(signal.SIGTERM)
            out, err = running.communicate()
        found = json.loads(out)
        self.assertEqual((running.returncode, found["interrupted"], found["file"]), (75, True, None))
        self.assertTrue(
            err.endswith(f"catoptra: stopped; the result rests on the {found['samples']} samples done and is not kept\n"), err
        )
        self.assertEqual(self.files(), ["dish.toml"])


COMPONENT = {
    "role": str,
    "name": str,
    "shape": str,
    "finish": str,
    "back": str,
    "mount": str,
    "copies": int,
    "facets": int,
}
PLACED = {"position_m": list, "axis": list}
PROBLEM = {
    "severity": str,
    "file": None,
    "line": None,
    "column": None,
    "width": None,
    "message": str,
    "notes": list,
    "text": str,
}
HEAD = {
    "schema_version": int,
    "generator": str,
    "scene": str,
    "settings": list,
    "sound": bool,
    "problems": list,
    "problems_left_out": int,
}
SOUND = {
    **HEAD,
    "title": str,
    "site": None,
    "sun": {"at": None, "azimuth_deg": float, "elevation_deg": float, "dni_W_m2": float, "shape": str},
    "components": list,
    "aperture_area_m2": float,
    "facing_area_m2": float,
    "incident_power_W": float,
    "receiver_area_m2": float,
    "geometric_concentration": float,
    "files": list,
    "description": str,
    "trace_memory_B": float,
    "trace_file_B": float,
}


class CheckJson(ScriptsTest):
    def checked(self, *words, code=0):
        got, out, err = self.run_program("check", "dish.toml", "--json", *words)
        self.assertEqual((got, err), (code, ""))
        return json.loads(out)

    def test_sound_scene(self):
        found = self.checked("--set", "sun.dni_W_m2=800")
        self.assertEqual(shape_faults(found, SOUND), [])
        self.assertEqual((found["sound"], found["problems"], found["settings"]), (True, [], ["sun.dni_W_m2=800"]))
        dish, absorber = found["components"]
        self.assertEqual(shape_faults(dish, {**COMPONENT, "aperture_area_m2": float, **PLACED}), [])
        self.assertEqual(
            shape_faults(absorber, {**COMPONENT, "front_area_m2": float, **PLACED, "flux_bins": list}), []
        )
        # Circles of 8 m and 0.1 m, and the sun at the zenith.
        area_m2, target_m2 = program.APERTURE_AREA_M2, 3.141592653589793 * 0.05**2
        for got, wanted in [
            (dish["aperture_area_m2"], area_m2),
            (absorber["front_area_m2"], target_m2),
            (found["aperture_area_m2"], area_m2),
            (found["facing_area_m2"], area_m2),
            (found["incident_power_W"], 800 * area_m2),
            (found["receiver_area_m2"], target_m2),
            (found["geometric_concentration"], area_m2 / target_m2),
        ]:
            self.assertAlmostEqual(got / wanted, 1, delta=1e-9)
        self.assertEqual((dish["role"], dish["shape"], dish["mount"], dish["finish"], dish["back"]),
                         ("primary", "paraboloid", "fixed", "silver", "dark"))  # fmt: skip
        self.assertEqual((absorber["position_m"], absorber["axis"], absorber["flux_bins"]), ([0, 0, 5], [0, 0, -1], [12, 10]))
        self.assertEqual((found["site"], found["sun"]["at"]), (None, None))
        # The words are those that check prints.
        _, out, _ = self.run_program("check", "dish.toml", "--set", "sun.dni_W_m2=800")
        self.assertTrue(out.startswith(found["description"]))

    def test_site_copies_and_files(self):
        (self.folder / "row.csv").write_text("x_m,y_m,z_m\n0,0,0\n9,0,0\n")
        text = program.DISH.replace('kind = "fixed", position_m = [0, 0, 0] }', 'kind = "fixed" }\narray = { kind = "csv", file = "row.csv" }')
        text = text.replace("[sun]", '[site]\nname = "Plateau"\nlatitude_deg = 31.5\nlongitude_deg = -7.25\n\n[sun]')
        (self.folder / "dish.toml").write_text(text.replace("azimuth_deg = 180\nelevation_deg = 90", "at = 2026-06-21T13:30:00+01:00"))
        found = self.checked()
        # Angles go through radians and back, and so through two roundings.
        site = {key: round(value, 12) for key, value in found["site"].items() if key != "name"}
        self.assertEqual(site, {"latitude_deg": 31.5, "longitude_deg": -7.25, "altitude_m": 0})
        self.assertEqual(found["site"]["name"], "Plateau")
        self.assertEqual((found["components"][0]["copies"], found["files"]), (2, ["row.csv"]))
        self.assertEqual(found["sun"]["at"], "2026-06-21T13:30:00+01:00")
        self.assertAlmostEqual(found["aperture_area_m2"] / (2 * program.APERTURE_AREA_M2), 1, delta=1e-9)
        # A flat rim that looks up shows the sun its area times the sine of the elevation.
        height = math.sin(math.radians(found["sun"]["elevation_deg"]))
        self.assertLess(height, 0.999)
        self.assertAlmostEqual(found["incident_power_W"] / (1000 * found["aperture_area_m2"] * height), 1, delta=1e-9)

    def test_problems(self):
        text = program.DISH.replace("absorptance = 0.95", "absorptanse = 0.95").replace("dni_W_m2 = 1000", "dni_W_m2 = 5")
        (self.folder / "dish.toml").write_text(text)
        found = self.checked("--set", "primary.dish.shape.focal_length_m=0", code=2)
        self.assertEqual(shape_faults(found, HEAD), [])
        self.assertEqual((found["sound"], found["problems_left_out"]), (False, 0))
        for problem in found["problems"]:
            self.assertEqual(shape_faults(problem, PROBLEM), [])
        keys = ("severity", "file", "line", "column", "width")
        self.assertEqual(
            [tuple(problem[key] for key in keys) for problem in found["problems"]],
            [
                ("warning", "dish.toml", 5, 12, 1),
                ("error", "dish.toml", 17, 1, 11),
                ("error", None, None, 35, 1),
            ],
        )
        self.assertEqual(found["problems"][1]["message"], "unknown key 'absorptanse' in finish 'black'")
        self.assertIn("did you mean 'absorptance'?", found["problems"][1]["notes"])
        # All that a person is shown.
        _, _, err = self.run_program("check", "dish.toml", "--set", "primary.dish.shape.focal_length_m=0")
        self.assertEqual("".join(problem["text"] + "\n" for problem in found["problems"]) + "2 errors, 1 warning\n", err)

    def test_no_scene(self):
        code, out, err = self.run_program("check", "none.toml", "--json")
        found = json.loads(out)
        self.assertEqual((code, err, found["sound"]), (2, "", False))
        (problem,) = found["problems"]
        self.assertEqual(
            [problem[key] for key in ("file", "line", "column", "message")],
            ["none.toml", None, None, "can't read the scene: no such file"],
        )
        code, out, err = self.run_program("check", "-", "--json")
        self.assertEqual((code, err, json.loads(out)["scene"]), (2, "", "<stdin>"))

    def test_every_key_is_documented(self):
        page = (ROOT / "docs" / "scripts.md").read_text()
        said = set(re.findall(r"^\| `([\w.\[\]]+)` \|", page, re.M))
        found = self.checked()
        keys = {*found, *(f"sun.{key}" for key in found["sun"]), *(f"problems[].{key}" for key in PROBLEM)}
        keys |= {f"components[].{key}" for component in found["components"] for key in component}
        keys |= {f"site.{key}" for key in ("name", "latitude_deg", "longitude_deg", "altitude_m")}
        self.assertEqual(said, keys)


class Page(ScriptsTest):
    def test_commands_of_the_page_run(self):
        """docs/scripts.md, line by line, in a folder like a fresh checkout."""
        for entry in ROOT.iterdir():
            if entry.name not in ("build", ".git"):
                (self.folder / entry.name).symlink_to(entry)
        path = os.pathsep.join([os.path.dirname(program.PROGRAM), os.environ["PATH"]])
        blocks = re.findall(r"```sh\n(.*?)```", (ROOT / "docs" / "scripts.md").read_text(), re.S)
        self.assertGreater(len(blocks), 3)
        for block in blocks:
            done = subprocess.run(
                ["bash", "-euo", "pipefail", "-c", block], cwd=self.folder, env={**os.environ, "PATH": path},
                capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=600,
            )  # fmt: skip
            self.assertEqual(done.returncode, 0, f"{block}\n{done.stdout}\n{done.stderr}")


if __name__ == "__main__":
    program.main()
