"""--set: the scene that is traced is the file's with these values, whoever reads it, and the result keeps it."""

import json
import tomllib

import h5py

import program
import steer_test
from program import ProgramTest

QUICK = ["--samples", "2^13", "--replicates", "4", "--quiet"]
EPOCH = {"SOURCE_DATE_EPOCH": "0"}
SETTINGS = [
    "sun.dni_W_m2=850",  # not in the file
    "sun.shape={ kind = \"gaussian\", sigma_mrad = 3 }",
    "finish.silver.slope_error_mrad=[1, 4]",
    "primary.dish.shape.focal_length_m=5.5",
    "receiver.absorber.mount.position_m.z=5.5",
    "receiver.absorber.heat.emittance=0.1",
    "receiver.absorber.heat.temperature_K=700",
    "title=Set from outside",
]


def typed(settings):
    return [word for setting in settings for word in ("--set", setting)]


def changed():
    """What the scene with these settings is, by another reader of TOML than the program's."""
    scene = tomllib.loads(program.DISH)
    scene["sun"]["dni_W_m2"] = 850
    scene["sun"]["shape"] = {"kind": "gaussian", "sigma_mrad": 3}
    scene["finish"]["silver"]["slope_error_mrad"] = [1, 4]
    scene["primary"][0]["shape"]["focal_length_m"] = 5.5
    scene["receiver"][0]["mount"]["position_m"][2] = 5.5
    scene["receiver"][0]["heat"] = {"emittance": 0.1, "temperature_K": 700}
    scene["title"] = "Set from outside"
    return scene


class Trace(ProgramTest):
    def test_result_is_that_of_the_scene_it_keeps(self):
        code, out, err = self.run_program("trace", "dish.toml", *typed(SETTINGS), *QUICK, "--json", environment=EPOCH)
        self.assertEqual((code, err), (0, ""))
        found = json.loads(out)
        self.assertEqual(found["settings"], SETTINGS)
        self.assertEqual(found["sun"]["dni_W_m2"], 850)
        self.assertEqual(found["receivers"]["absorber"]["heat"]["temperature_K"], 700)
        with h5py.File(self.folder / "dish.h5") as file:
            text = file["scene/source"][()].decode()
            self.assertEqual(tomllib.loads(text), changed())
            self.assertEqual(file.attrs["settings"], "\n".join(SETTINGS))
            self.assertEqual(file.attrs["title"], "Set from outside")
        # Comments and layout stay: all lines but those that were set.
        kept = set(text.splitlines())
        for line in program.DISH.splitlines():
            said = any(word in line for word in ("title", "shape", "slope_error", "position_m = [0, 0, 5]", "dni"))
            self.assertTrue(said or line in kept, line)

        # The scene that the file keeps gives these numbers to the bit, with no setting.
        code, out, err = self.run_program("export", "dish.h5", "--to", "toml")
        self.assertEqual((code, out, err), (0, "scene: dish-scene.toml\n", ""))
        self.assertEqual((self.folder / "dish-scene.toml").read_text(), text)
        code, out, err = self.run_program("trace", "dish-scene.toml", *QUICK, "--json", environment=EPOCH)
        self.assertEqual((code, err), (0, ""))
        again = json.loads(out)
        self.assertEqual(again.pop("settings"), [])
        for key in ("settings", "scene", "file"):
            found.pop(key, None), again.pop(key, None)
        self.assertEqual(again, found)
        # And one without the settings gives others.
        code, out, err = self.run_program("trace", "dish.toml", *QUICK, "-o", "plain.h5", "--json", environment=EPOCH)
        self.assertNotEqual(json.loads(out)["optical_efficiency"], found["optical_efficiency"])

    def test_a_file_without_settings_says_so(self):
        self.assertEqual(self.run_program("trace", "dish.toml", *QUICK)[0], 0)
        with h5py.File(self.folder / "dish.h5") as file:
            self.assertEqual(file.attrs["settings"], "")
            self.assertEqual(file["scene/source"][()].decode(), program.DISH)

    def test_other_settings_are_another_run(self):
        """A checkpoint of one is not used by the other: the scene's text differs."""
        first = self.run_program("check", "dish.toml")[1]
        second = self.run_program("check", "dish.toml", "--set", "sun.dni_W_m2=500")[1]
        # Half the sun, half the power: nothing else of the description changes but these two lines.
        self.assertEqual(
            [(a, b) for a, b in zip(first.splitlines(), second.splitlines()) if a != b],
            [
                ("  DNI 1000 W/m2; sunshape disc, half_angle_mrad = 4.65", "  DNI 500 W/m2; sunshape disc, half_angle_mrad = 4.65"),
                ("  incident power 50.265 kW", "  incident power 25.133 kW"),  # pi 4^2 m2
            ],
        )

    def test_messages(self):
        code, out, err = self.run_program("trace", "dish.toml", "--set", "finish.silver.reflectance=1.2")
        self.assertEqual((code, out, self.files()), (2, "", ["dish.toml"]))
        self.assertEqual(
            err,
            "--set: error: 'reflectance' in finish 'silver' is out of range\n"
            "      | finish.silver.reflectance=1.2\n"
            "      |                           ^^^\n"
            "  found: number 1.2\n"
            "  allowed: a number from 0 to 1, or rows [[incidence angle in degrees, number from 0 to 1], ...], "
            "the angles rising from 0 to 90\n"
            "  in place of the value at dish.toml:12:15\n",
        )
        code, out, err = self.run_program("look", "dish.toml", "--set", "primary.dsh.finish=black")
        self.assertEqual((code, out, self.files()), (2, "", ["dish.toml"]))
        self.assertEqual(
            err,
            "--set: error: nothing in 'primary' is called 'dsh'\n"
            "      | primary.dsh.finish=black\n"
            "      |         ^^^\n"
            "  allowed: dish\n"
            "  did you mean 'dish'?\n"
            "  the path ends at dish.toml:19:1\n",
        )
        code, out, err = self.run_program("steer", "dish.toml", "--set")
        self.assertEqual((code, out), (2, ""))
        # What the parts of a shell do with braces: { kind = "disc" } without quotes is four words.
        code, out, err = self.run_program("check", "dish.toml", "--set", "sun.shape={", "kind", "=", "disc", "}")
        self.assertEqual((code, out), (2, ""))
        self.assertEqual(err, "catoptra: error: 'kind' is one word too many for check\n")


class Steer(ProgramTest):
    def setUp(self):
        super().setUp()
        (self.folder / "bowl.toml").write_text(steer_test.BOWL)

    def test_schedule_keeps_the_scene_with_its_settings(self):
        settings = ["sun.at=2026-06-21T15:00:00+01:00", "sun.dni_W_m2=700"]
        code, out, err = self.run_program("steer", "bowl.toml", *typed(settings), *steer_test.QUICK, "--json")
        self.assertEqual((code, err), (0, ""))
        found = json.loads(out)
        self.assertEqual(found["settings"], settings)
        self.assertEqual(found["suns"][0]["local_time"], "2026-06-21T15:00:00+01:00")
        with h5py.File(self.folder / "bowl-steer.h5") as file:
            wanted = tomllib.loads(steer_test.BOWL)
            scene = tomllib.loads(file["scene/source"][()].decode())
            self.assertEqual(scene["sun"].pop("at").isoformat(), "2026-06-21T15:00:00+01:00")
            self.assertEqual(scene["sun"].pop("dni_W_m2"), 700)
            wanted["sun"].pop("at"), wanted["sun"].pop("dni_W_m2", None)
            self.assertEqual(scene, wanted)
            self.assertEqual(file["sun/dni_W_m2"][()], 700)
            self.assertEqual(file.attrs["settings"], "\n".join(settings))

    def test_free_takes_a_key_that_was_set(self):
        (self.folder / "dish.toml").write_text(program.DISH.replace("slope_error_mrad = 3\n", ""))
        path = "finish.silver.slope_error_mrad"
        words = ["steer", "dish.toml", "--free", path + "=1..5", "--evaluations", "6", "--samples", "2^13",
                 "--search-samples", "2^10", "--replicates", "4", "--quiet", "--json"]  # fmt: skip
        code, _, err = self.run_program(*words)
        self.assertEqual(code, 2)
        self.assertIn("must first be written in the scene", err)
        code, out, err = self.run_program(*words, "--set", path + "=4")
        self.assertEqual((code, err), (0, ""))
        (parameter,) = json.loads(out)["design"]["parameters"]
        self.assertEqual((parameter["original"], parameter["best"]), (4, 1))  # the smallest error is the best
        scene = tomllib.loads((self.folder / "dish-best.toml").read_text())
        self.assertEqual(scene["finish"]["silver"]["slope_error_mrad"], 1)
        # Lines of the file moved by what was set: a message does not name a wrong one.
        code, _, err = self.run_program("steer", "dish.toml", "--set", path + "=4", "--free", "primary.dish.shape.kind=1..2")
        self.assertEqual(
            (code, err), (2, "catoptra: error: --free: 'primary.dish.shape.kind' is no number: text \"paraboloid\"\n")
        )


class Export(ProgramTest):
    def test_scene_with_its_files(self):
        (self.folder / "places").mkdir()
        table = "x_m,y_m,z_m\n0,30,1\n8,30,1\n"
        (self.folder / "places" / "row.csv").write_text(table)
        row = """
[[primary]]
name = "row"
shape = { kind = "sphere", radius_m = 60 }
aperture = { kind = "rectangle", width_m = 1, length_m = 1 }
finish = "silver"
mount = { kind = "heliostat", aim = "absorber" }
array = { kind = "csv", file = "places/row.csv" }
"""
        (self.folder / "dish.toml").write_text(program.DISH + row)
        code, _, err = self.run_program("trace", "dish.toml", *QUICK)
        self.assertEqual(code, 0, err)
        export = ["export", "dish.h5", "--to", "toml"]
        # Beside its files, which are as they were: nothing to write but the scene.
        code, out, err = self.run_program(*export)
        self.assertEqual((code, out, err), (0, "scene: dish-scene.toml\n", ""))
        # What a person may have written is not replaced.
        code, out, err = self.run_program(*export)
        self.assertEqual(
            (code, out, err),
            (2, "", "catoptra: error: --output is 'dish-scene.toml', which is there already\n"
                    "  allowed: another name, or --force, which replaces it\n"),
        )
        self.assertEqual(self.run_program(*export, "--force")[0], 0)
        # Elsewhere the files come along.
        (self.folder / "copy" / "places").mkdir(parents=True)
        code, out, err = self.run_program(*export, "-o", "copy/dish.toml")
        self.assertEqual((code, out, err), (0, "scene: copy/dish.toml\nfile of the scene: copy/places/row.csv\n", ""))
        self.assertEqual((self.folder / "copy" / "places" / "row.csv").read_text(), table)
        self.assertEqual(self.run_program("check", "copy/dish.toml")[0], 0)
        # A changed file is not lost either.
        (self.folder / "copy" / "places" / "row.csv").write_text(table + "16,30,1\n")
        (self.folder / "copy" / "dish.toml").unlink()
        code, out, err = self.run_program(*export, "-o", "copy/dish.toml")
        self.assertEqual((code, out), (2, ""))
        self.assertIn("a file that the scene names is 'copy/places/row.csv', which is there already", err)
        self.assertFalse((self.folder / "copy" / "dish.toml").exists())

    def test_file_outside_the_folder_is_told(self):
        inner = self.folder / "scenes"
        inner.mkdir()
        (self.folder / "row.csv").write_text("x_m,y_m,z_m\n0,0,0\n")
        text = program.DISH.replace('kind = "fixed", position_m = [0, 0, 0] }', 'kind = "fixed" }\narray = { kind = "csv", file = "../row.csv" }')
        self.assertNotEqual(text, program.DISH)
        (inner / "dish.toml").write_text(text)
        code, _, err = self.run_program("trace", "scenes/dish.toml", *QUICK)
        self.assertEqual(code, 0, err)
        code, out, err = self.run_program("export", "dish.h5", "--to", "toml")
        self.assertEqual(
            (code, out, err),
            (0, "scene: dish-scene.toml\nnot written, since it lies outside the scene's folder: ../row.csv\n", ""),
        )


if __name__ == "__main__":
    program.main()
