"""What the program may write over and what not, and that files which belong together appear together."""

import fcntl
import os
import pathlib
import shutil
import signal
import subprocess
import time

import h5py

import program
from program import ProgramTest

REPLACE = "\n  allowed: another name, or --force, which replaces it\n"
POSITIONS = "x_m,y_m,z_m\n0,0,0\n"
TRACKED = program.DISH.replace(
    'mount = { kind = "fixed", position_m = [0, 0, 0] }', 'mount = { kind = "two_axis", pivot_m = [0, 0, 0] }'
) + "\n[site]\nlatitude_deg = 35\nlongitude_deg = 20\n"
SHIM = os.environ.get("CATOPTRA_KILL_AT", "")


class Refused(ProgramTest):
    def refused(self, words, message, code=2, **more):
        before = {path.name: path.read_bytes() for path in self.folder.rglob("*") if path.is_file() and not path.is_symlink()}
        got, out, err = self.run_program(*words, **more)
        self.assertEqual((got, out, err), (code, "", f"catoptra: error: {message}"))
        after = {path.name: path.read_bytes() for path in self.folder.rglob("*") if path.is_file() and not path.is_symlink()}
        self.assertEqual(before, after)

    def succeed(self, *words):
        code, out, err = self.run_program(*words)
        self.assertEqual((code, err), (0, ""), words)
        return out

    def test_inputs_of_a_scene_in_another_folder(self):
        sub = self.folder / "sub"
        sub.mkdir()
        (sub / "pos.csv").write_text(POSITIONS)
        mount = 'mount = { kind = "fixed", position_m = [0, 0, 0] }\narray = { kind = "csv", file = "pos.csv" }'
        (sub / "s.toml").write_text(program.DISH.replace('mount = { kind = "fixed", position_m = [0, 0, 0] }', mount))
        self.refused(
            ["trace", "sub/s.toml", "-o", "sub/pos.csv"], "--output is 'sub/pos.csv', a file that the scene is read from\n"
        )
        more = (
            '\n[[primary]]\nname = "more"\nshape = { kind = "plane" }\naperture = { kind = "circle", diameter_m = 1 }\n'
            'finish = "silver"\nmount = { kind = "fixed", position_m = [0, 0, 90] }\n'
            'array = { kind = "csv", file = "pos.csv" }\n'
        )
        (sub / "t.toml").write_text(TRACKED + more)
        for force in [[], ["--force"]]:
            self.refused(
                ["steer", "sub/t.toml", "-o", "sub/pos.h5", *force],
                "the table of --output is 'sub/pos.csv', a file that the scene is read from\n",
            )
        # Files of any kind, without a word about each.
        (sub / "panels.csv").write_text("x_m,y_m,z_m,normal_x,normal_y,normal_z\n0,0,0,0,0,1\n")
        facets = mount.replace('array = { kind = "csv", file = "pos.csv"', 'facets = { kind = "frames", file = "panels.csv"')
        (sub / "f.toml").write_text(program.DISH.replace('mount = { kind = "fixed", position_m = [0, 0, 0] }', facets))
        self.refused(
            ["trace", "sub/f.toml", "-o", "sub/panels.csv"],
            "--output is 'sub/panels.csv', a file that the scene is read from\n",
        )
        os.symlink("sub/pos.csv", self.folder / "link.h5")
        self.refused(["trace", "sub/s.toml", "-o", "link.h5"], "--output is 'link.h5', a file that the scene is read from\n")

    def test_results_that_are_read(self):
        self.succeed("trace", "dish.toml", "-n", "2^14", "-o", "res.html")
        self.refused(["report", "res.html"], "--output is 'res.html', the result itself\n")
        self.refused(["compare", "res.html", "res.html", "-o", "res.html"], "--output is 'res.html', the result itself\n")
        second = program.DISH + program.DISH[program.DISH.index("[[receiver]]"):].replace('"absorber"', '"b"').replace("5]", "5.5]")
        (self.folder / "dish.toml").write_text(second)
        self.succeed("trace", "dish.toml", "-n", "2^14", "-o", "t-b.csv")
        self.refused(["export", "t-b.csv", "--to", "csv", "-o", "t.csv"], "--output is 't-b.csv', the result itself\n")

    def test_pages_of_other_verbs(self):
        self.succeed("trace", "dish.toml", "-n", "2^14")
        self.succeed("look", "dish.toml")
        self.succeed("look", "dish.toml")
        self.refused(["report", "dish.h5"], "--output is 'dish.html', which holds a page that catoptra look made" + REPLACE)
        self.succeed("report", "dish.h5", "--force")
        self.succeed("report", "dish.h5")
        self.refused(["look", "dish.toml"], "--output is 'dish.html', which holds a page that catoptra report made" + REPLACE)
        (self.folder / "own.html").write_text("<p>notes</p>")
        self.refused(
            ["compare", "dish.h5", "dish.h5", "-o", "own.html"],
            "--output is 'own.html', which is there already and is no page of catoptra's" + REPLACE,
        )

    def test_results_of_other_kinds(self):
        (self.folder / "dish.toml").write_text(TRACKED)
        (self.folder / "dish.h5").write_text("notes")
        self.refused(
            ["trace", "dish.toml"], "--output is 'dish.h5', which is there already and is no result of catoptra's" + REPLACE
        )
        self.succeed("trace", "dish.toml", "-n", "2^14", "--force")
        self.succeed("trace", "dish.toml", "-n", "2^14", "--seed", "2")  # its own kind goes as before
        self.refused(
            ["steer", "dish.toml", "-o", "dish.h5"], "--output is 'dish.h5', which holds what catoptra trace found" + REPLACE
        )
        day = ["steer", "dish.toml", "--every", "6h", "-n", "2^14", "-q", "-o", "d.h5", "--day"]
        self.succeed(*day, "2026-06-21")
        self.succeed(*day, "2026-06-21")
        self.refused(
            [*day, "2026-12-21"], "--output is 'd.h5', which holds a schedule of another day, 2026-06-21" + REPLACE
        )
        self.refused(["trace", "dish.toml", "-o", "d.h5"], "--output is 'd.h5', which holds a schedule, of catoptra steer" + REPLACE)
        (self.folder / "d.csv").write_text("my,own\n1,2\n")
        self.refused(
            [*day, "2026-06-21"],
            "the table of --output is 'd.csv', which is there already and is no schedule's table" + REPLACE,
        )
        self.succeed(*day, "2026-12-21", "--force")

    def test_what_is_no_plain_file(self):
        plain = "it exists and is not a plain file\n"
        os.mkfifo(self.folder / "pipe.h5")
        os.symlink("/dev/null", self.folder / "device.h5")
        os.symlink("nowhere", self.folder / "nowhere.h5")
        for name, words in [
            ("pipe.h5", plain),
            ("device.h5", plain),
            ("/dev/null", plain),
            ("nowhere.h5", "it is a link that leads to no file\n"),
        ]:
            for force in [[], ["--force"]]:
                with self.subTest(name):
                    self.refused(["trace", "dish.toml", "-n", "2^14", "-o", name, *force], f"can't write '{name}': {words}", 1)
        self.assertTrue((self.folder / "pipe.h5").is_fifo())
        self.assertTrue((self.folder / "device.h5").is_symlink())

    def test_standard_output_as_a_file(self):
        """-o /dev/stdout: root would replace the machine's own link by a plain file."""
        for path in ["/dev/stdout", "out.h5"]:
            with self.subTest(path), open(self.folder / "out.h5", "w") as out:
                code, _, err = self.run_program("trace", "dish.toml", "-n", "2^14", "-o", path, stdout=out)
                self.assertEqual((code, err), (1, f"catoptra: error: can't write '{path}': it is where this program prints\n"))
        self.assertTrue(pathlib.Path("/dev/stdout").is_symlink())

    def test_link_to_a_plain_file(self):
        """The file behind it is written; the link stays."""
        (self.folder / "kept").mkdir()
        self.succeed("trace", "dish.toml", "-n", "2^14", "-o", "kept/real.h5")
        os.symlink("kept/real.h5", self.folder / "link.h5")
        self.succeed("trace", "dish.toml", "-n", "2^14", "-o", "link.h5", "--seed", "9")
        self.assertTrue((self.folder / "link.h5").is_symlink())
        with h5py.File(self.folder / "kept" / "real.h5") as file:
            self.assertEqual(file.attrs["seed"], 9)

    def test_pipe_as_a_result(self):
        os.mkfifo(self.folder / "pipe")
        for words in [["report", "pipe", "-o", "a.html"], ["compare", "pipe", "pipe"], ["export", "pipe", "--to", "csv"]]:
            with self.subTest(words[0]):
                self.refused(words, "'pipe' is not a plain file\n  allowed: what catoptra trace or steer wrote\n")

    def test_longest_name(self):
        name = "n" * 252 + ".h5"  # 255 bytes: as long as Linux's file systems allow
        self.succeed("trace", "dish.toml", "-n", "2^20", "-o", name, "--checkpoint", "0.001s")  # kept under a name of its own
        self.assertEqual(self.files(), ["dish.toml", name])

    def test_refused_before_the_work(self):
        """These would trace for hours."""
        self.refused(["trace", "dish.toml", "-n", "1e12", "-o", "no/a.h5"], "can't write 'no/a.h5': No such file or directory\n", 1)
        (self.folder / "dish.toml").write_text(TRACKED)
        self.refused(
            ["steer", "dish.toml", "-n", "1e12", "-o", "no/a.h5"], "can't write 'no/a.h5': No such file or directory\n", 1
        )


class Temporaries(ProgramTest):
    def setUp(self):
        super().setUp()
        self.assertTrue(os.path.exists(SHIM), "CATOPTRA_KILL_AT must name the preloaded library")

    def left(self, name, age_s, text="x"):
        path = self.folder / name
        path.write_text(text)
        os.utime(path, (time.time() - age_s,) * 2)
        return path

    def test_stale_ones_are_swept(self):
        stale = self.left(".catoptra-0123456789abcdef.part", 700)
        fresh = self.left(".catoptra-0123456789abcde0.part", 5)
        other = self.left(".catoptra-notes.part", 700)
        held = self.left(".catoptra-0123456789abcde1.part", 700)
        with open(held) as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            self.assertEqual(self.run_program("trace", "dish.toml", "-n", "2^14")[0], 0)
        self.assertEqual([path.exists() for path in [stale, fresh, other, held]], [False, True, True, True])

    def test_names_of_two_machines(self):
        """Two containers may have the same folder and the same process number, and a name that can be foretold could be a
        link, to whatever its maker wants emptied."""
        log = self.folder / "log"
        for _ in range(2):
            code, _, err = self.run_program(
                "trace", "dish.toml", "-n", "2^14", environment={"LD_PRELOAD": SHIM, "PROCESS_ID": "1", "RENAME_LOG": str(log)}
            )
            self.assertEqual((code, err), (0, ""))
        names = [pathlib.Path(line).name for line in log.read_text().splitlines()]
        self.assertEqual(len(names), len(set(names)))
        self.assertGreaterEqual(len(names), 2)
        for name in names:
            self.assertRegex(name, r"^\.catoptra-[0-9a-f]{16}\.part$")
            self.assertNotIn("00000000", name)  # of 64 random bits: once in millions of runs

    def note(self, *names, end="\0"):
        """What a set of files that was cut off leaves: pairs of names, and an empty one at the end."""
        path = self.folder / ".catoptra-0123456789abcdef.set"
        path.write_text("".join(f"{name}\0" for name in names) + end)
        return path

    def test_note_of_a_set_that_was_cut_off(self):
        new = ".catoptra-0123456789abcde2.part"
        (self.folder / "other").mkdir()
        for names, end, done in [
            ([new, "a.csv"], "\0", True),
            ([new, "a.csv"], "", False),  # cut short: came before the moment that counts
            ([new, "other/a.csv"], "\0", False),  # a note says nothing about other folders
            (["own.csv", "a.csv"], "\0", False),  # nor about files that are no temporaries
        ]:
            with self.subTest(names):
                for name, text in [("a.csv", "old"), ("own.csv", "own"), (new, "new"), ("other/a.csv", "old")]:
                    (self.folder / name).write_text(text)
                note = self.note(*names, end=end)
                self.assertEqual(self.run_program("trace", "dish.toml", "-n", "2^14")[0], 0)
                self.assertEqual((self.folder / "a.csv").read_text(), "new" if done else "old")
                self.assertEqual((self.folder / "other" / "a.csv").read_text(), "old")
                self.assertTrue((self.folder / "own.csv").exists())
                self.assertFalse(note.exists())


class Together(ProgramTest):
    """The five files of a shape search's schedule."""

    def setUp(self):
        super().setUp()
        self.assertTrue(os.path.exists(SHIM), "CATOPTRA_KILL_AT must name the preloaded library")
        (self.folder / "dish.toml").write_text(TRACKED)

    def steer(self, seed, **environment):
        return self.run_program(
            "steer", "dish.toml", "--day", "2026-06-21", "--every", "6h", "-n", "2^12", "-q", "--seed", seed, "--poses",
            "poses.csv", "--tolerance", environment={"LD_PRELOAD": SHIM, "SOURCE_DATE_EPOCH": "951782400", **environment},
        )

    def contents(self):
        return {path.name: path.read_bytes() for path in self.folder.iterdir() if path.name != "dish.toml"}

    def test_killed_between_two_renames(self):
        """Each file's own temporary name takes one rename, then the set's renames follow: whenever the kill comes, what
        the next program meets is all old or all new."""
        self.assertEqual(self.steer("1")[0], 0)
        old = self.contents()
        self.assertEqual(self.steer("2")[0], 0)
        new = self.contents()
        self.assertEqual(sorted(old), ["dish-steer-tolerance.csv", "dish-steer.csv", "dish-steer.h5", "poses.csv"])
        self.assertFalse(any(old[name] == new[name] for name in ["dish-steer.csv", "dish-steer.h5"]))
        outcomes = []
        for at in range(1, 9):
            for name, content in old.items():
                (self.folder / name).write_bytes(content)
            code, _, _ = self.steer("2", KILL_AT_RENAME=str(at))
            self.assertEqual(code, -signal.SIGKILL)
            for path in self.folder.glob(".catoptra-*.part"):
                os.utime(path, (time.time() - 700,) * 2)
            self.assertEqual(self.run_program("compare", "dish-steer.h5", "dish-steer.h5")[0], 0)
            found = self.contents()
            self.assertIn(found, [old, new], f"killed at rename {at}")
            outcomes.append(found == new)
        self.assertEqual(outcomes, [False] * 4 + [True] * 4)
        self.assertEqual(self.steer("2", KILL_AT_RENAME="9")[0], 0)  # there are no more

    def test_disk_that_is_full_at_the_end(self):
        """The table is printed all the same, and the files go to where temporary files go."""
        other = self.folder / "elsewhere"
        other.mkdir()
        code, out, err = self.steer("1", FULL_AT_RENAME="8", TMPDIR=str(other))
        self.assertEqual(code, 1)
        self.assertEqual(err.splitlines()[0], "catoptra: error: can't write 'dish-steer.h5': No space left on device")
        self.assertIn("caution: concentrated sunlight", out)

    def test_folder_that_goes_away(self):
        other = self.folder / "elsewhere"
        (self.folder / "sub").mkdir()
        other.mkdir()
        with subprocess.Popen(
            [program.PROGRAM, "trace", "dish.toml", "-n", "2^23", "-q", "-o", "sub/a.h5"],
            cwd=self.folder, env={**os.environ, "TMPDIR": str(other)}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        ) as running:
            time.sleep(0.3)
            shutil.rmtree(self.folder / "sub")
            out, err = running.communicate()
        self.assertEqual(running.returncode, 1)
        kept = list(other.rglob("a.h5"))
        self.assertEqual(len(kept), 1)
        self.assertEqual(err, f"catoptra: error: can't write 'sub/a.h5': No such file or directory\n  kept instead: {kept[0]}\n")
        self.assertIn(f"\nresult: {kept[0]}\ncaution", out)
        with h5py.File(kept[0]) as file:
            self.assertGreaterEqual(file.attrs["samples"], 2**23)


if __name__ == "__main__":
    program.main()
