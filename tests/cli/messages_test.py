"""The whole text of what the program says when it can't do what was asked, its exit code, and that nothing is left."""

import program
from program import ProgramTest

COUNT = "a whole number from {} to {}, written like 250000, 1e6, 2^20, 500k or 1.5M"


class Usage(ProgramTest):
    def refused(self, words, message, code=2):
        got, out, err = self.run_program(*words)
        self.assertEqual(err, message)
        self.assertEqual(out, "")
        self.assertEqual(got, code)
        self.assertEqual(self.files(), ["dish.toml"])

    def test_help_fits_80_columns(self):
        for words in [[], ["check"], ["trace"], ["steer"], ["report"], ["look"], ["export"]]:
            code, out, _ = self.run_program(*words, "--help")
            self.assertEqual(code, 0)
            self.assertGreater(out.count("\n"), 10)
            self.assertLessEqual(max(len(line) for line in out.splitlines()), 80, out)

    def test_misspelt_verb(self):
        self.refused(
            ["trase", "dish.toml"],
            "catoptra: error: unknown verb 'trase'\n  allowed: check, trace, steer, report, look, compare, export\n  did you mean 'trace'?\n",
        )

    def test_verb_far_from_any(self):
        self.refused(["xyzzy"], "catoptra: error: unknown verb 'xyzzy'\n  allowed: check, trace, steer, report, look, compare, export\n")

    def test_misspelt_option(self):
        self.refused(
            ["trace", "dish.toml", "--sampels", "10"],
            "catoptra: error: unknown option of trace '--sampels'\n"
            "  allowed: --help, -h, --set, --output, -o, --samples, -n, --precision, --max-samples, --seed, --threads,"
            " --replicates, --paths, --checkpoint, --force, --json, --quiet, -q\n"
            "  did you mean '--samples'?\n",
        )

    def test_misspelt_option_with_its_value(self):
        self.refused(
            ["check", "dish.toml", "--hlep=1"],
            "catoptra: error: unknown option of check '--hlep'\n  allowed: --help, -h, --set, --json\n  did you mean '--help'?\n",
        )

    def test_one_word_too_many(self):
        self.refused(
            ["trace", "dish.toml", "other.toml"], "catoptra: error: 'other.toml' is one word too many for trace\n"
        )

    def test_no_scene(self):
        self.refused(["trace"], "catoptra: error: SCENE is required\n")

    def test_samples(self):
        for wrong in ["0", "-5", "1.5", "12x", " ", "1e13", "nan", "inf", "2^", "2^99", "k", "1e6 ", "0x10"]:
            with self.subTest(wrong):
                self.refused(
                    ["trace", "dish.toml", f"--samples={wrong}"],
                    f"catoptra: error: --samples is '{wrong}'\n  allowed: {COUNT.format(1, '1e+12')}\n",
                )

    def test_option_without_its_value(self):
        for words in [["--samples"], ["--samples="], ["--samples", "1", "--samples", "2"]]:
            with self.subTest(words):
                self.refused(["trace", "dish.toml", *words], "catoptra: error: --samples takes one value, once\n")

    def test_precision(self):
        for wrong in ["0.1", "0%", "100%", "-1%", "%", "x%", "nan%", "0.1 %"]:
            with self.subTest(wrong):
                self.refused(
                    ["trace", "dish.toml", f"--precision={wrong}"],
                    f"catoptra: error: --precision is '{wrong}'\n"
                    "  allowed: more than 0% and less than 100%, with the sign: 0.1%\n",
                )

    def test_replicates(self):
        self.refused(
            ["trace", "dish.toml", "--replicates", "1"],
            "catoptra: error: --replicates is '1'\n  allowed: a whole number from 2 to 4096\n",
        )

    def test_seed(self):
        self.refused(
            ["trace", "dish.toml", "--seed", "18446744073709551616"],
            "catoptra: error: --seed is '18446744073709551616'\n"
            "  allowed: a whole number from 0 to 18446744073709551615\n",
        )

    def test_samples_and_precision(self):
        self.refused(
            ["trace", "dish.toml", "--samples", "1e6", "--precision", "1%"],
            "catoptra: error: --samples and --precision can't be used together\n"
            "  allowed: --precision with --max-samples\n",
        )

    def test_max_samples_alone(self):
        self.refused(
            ["trace", "dish.toml", "--max-samples", "1e6"],
            "catoptra: error: --max-samples without --precision\n  did you mean '--samples'?\n",
        )

    def test_output_over_the_scene(self):
        self.refused(
            ["trace", "dish.toml", "-o", "./dish.toml"],
            "catoptra: error: --output is './dish.toml', a file that the scene is read from\n",
        )
        self.assertEqual((self.folder / "dish.toml").read_text(), program.DISH)

    def test_output_in_no_folder(self):
        self.refused(
            ["trace", "dish.toml", "-o", "missing/a.h5"],
            "catoptra: error: can't write 'missing/a.h5': No such file or directory\n",
            code=1,
        )

    def test_output_is_a_folder(self):
        self.refused(
            ["trace", "dish.toml", "-o", "."],
            "catoptra: error: can't write '.': it exists and is not a plain file\n",
            code=1,
        )

    def test_source_date_epoch(self):
        code, out, err = self.run_program("trace", "dish.toml", environment={"SOURCE_DATE_EPOCH": "today"})
        self.assertEqual(
            (code, out, err),
            (
                1,
                "",
                "catoptra: error: the environment's SOURCE_DATE_EPOCH is 'today'; it must be a count of seconds"
                " since 1970\n",
            ),
        )


FAULT = """dish.toml:13:1: error: unknown key 'slope_eror_mrad' in finish 'silver'
   13 | slope_eror_mrad = 3
      | ^^^^^^^^^^^^^^^
  allowed: kind, reflectance, slope_error_mrad, specularity_error_mrad
  did you mean 'slope_error_mrad'?
"""


class Scenes(ProgramTest):
    def test_scene_with_a_fault(self):
        text = program.DISH.replace("slope_error_mrad", "slope_eror_mrad")
        (self.folder / "dish.toml").write_text(text)
        for verb in ["check", "trace"]:
            with self.subTest(verb):
                code, out, err = self.run_program(verb, "dish.toml")
                self.assertEqual(code, 2)
                self.assertEqual(out, "")
                self.assertTrue(err.startswith(FAULT), err)
                self.assertEqual(self.files(), ["dish.toml"])

    def unreadable(self, scene, why):
        for verb in ["check", "trace"]:
            with self.subTest(verb):
                code, out, err = self.run_program(verb, scene)
                self.assertEqual((code, out, err), (2, "", f"{scene}: error: can't read the scene: {why}\n"))
                self.assertEqual(self.files(), ["dish.toml"])

    def test_no_such_scene(self):
        self.unreadable("missing.toml", "no such file")

    def test_folder_as_a_scene(self):
        self.unreadable(".", "not a regular file")

    def test_scene_below_a_file(self):
        self.unreadable("dish.toml/scene.toml", "no such file")

    def test_scene_that_the_kernel_makes_up(self):
        # Regular files by their kind; reading the second one waits for ever.
        for scene in ["/proc/self/mem", "/proc/kmsg"]:
            self.unreadable(scene, "not a file on a disk: the system makes it up when it is read")

    def test_last_line_counts_the_problems(self):
        faulty = program.DISH.replace("reflectance = 0.9", "reflectance = 9").replace("absorptance = 0.95", "absorptance = 2")
        (self.folder / "dish.toml").write_text(faulty.replace("dni_W_m2 = 1000", "dni_W_m2 = 0.95"))
        for verb in ["check", "trace", "look"]:
            with self.subTest(verb):
                code, out, err = self.run_program(verb, "dish.toml")
                self.assertEqual((code, out), (2, ""))
                self.assertEqual(err.splitlines()[-1], "2 errors, 1 warning")

    def test_warning_of_a_scene_that_is_traced_all_the_same(self):
        (self.folder / "dish.toml").write_text(program.DISH.replace("dni_W_m2 = 1000", "dni_W_m2 = 0.95"))
        code, out, err = self.run_program("trace", "dish.toml", "-n", "1000", "-q")
        self.assertEqual(code, 0)
        self.assertEqual(
            err,
            "dish.toml:5:12: warning: a DNI of 0.95 W/m2 is almost no sun\n"
            "    5 | dni_W_m2 = 0.95\n"
            "      |            ^^^^\n"
            "  0.95 kW/m2 is dni_W_m2 = 950\n",
        )

    def test_file_that_is_no_scene(self):
        allowed = "  allowed: UTF-8 text without control characters\n"
        for content, message in [
            (bytes(range(256)), "dish.toml:1:1: error: not a text file\n  found: byte 0x00\n" + allowed),
            (b"title = 'x'\n\x89PNG", "dish.toml:2:1: error: not a text file\n  found: byte 0x89\n" + allowed),
            (
                b"",
                "dish.toml:1:1: error: the scene is empty\n"
                "  allowed: schema = 1, a table [sun], at least one table [[primary]], and what they need\n",
            ),
        ]:
            with self.subTest(message):
                (self.folder / "dish.toml").write_bytes(content)
                for verb in ["check", "trace"]:
                    self.assertEqual(self.run_program(verb, "dish.toml"), (2, "", message))
                self.assertEqual(self.files(), ["dish.toml"])

    def test_check(self):
        code, out, err = self.run_program("check", "dish.toml")
        self.assertEqual((code, err), (0, ""))
        self.assertIn("dish", out)
        self.assertIn("Caution: concentrated sunlight burns and blinds", out)
        self.assertLessEqual(max(len(line) for line in out.splitlines()), 80)
        self.assertEqual(self.files(), ["dish.toml"])


class Help(ProgramTest):
    def test_help_teaches_with_an_example(self):
        for words in [["--help"], ["trace", "--help"], ["check", "-h"]]:
            with self.subTest(words):
                code, out, err = self.run_program(*words)
                self.assertEqual((code, err), (0, ""))
                self.assertIn("Example", out)
                self.assertIn("catoptra", out)

    def test_help_as_a_word(self):
        self.assertEqual(self.run_program("help"), (0, self.run_program("--help")[1], ""))
        for verb in ["check", "trace", "steer", "export"]:
            self.assertEqual(self.run_program("help", verb), (0, self.run_program(verb, "--help")[1], ""))
        code, out, err = self.run_program("help", "trase")
        self.assertEqual((code, out), (2, ""))
        self.assertIn("did you mean 'trace'?", err)

    def test_planned_verb(self):
        self.assertEqual(
            self.run_program("year", "dish.toml"),
            (
                2,
                "",
                "catoptra: error: 'year' is planned, not built yet\n"
                "  allowed: steer --twelve-days, which traces one day of each month\n",
            ),
        )

    def test_no_words_at_all(self):
        code, out, err = self.run_program()
        self.assertEqual((code, err), (2, ""))
        self.assertEqual(out, self.run_program("--help")[1])

    def test_version(self):
        code, out, err = self.run_program("--version")
        self.assertEqual((code, err), (0, ""))
        for short in ["-v", "-V"]:
            self.assertEqual(self.run_program(short), (0, out, ""))
        self.assertRegex(out, r"^catoptra \d+\.\d+\.\d+\n$")


if __name__ == "__main__":
    program.main()
