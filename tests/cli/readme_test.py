"""Every command of the README's first steps runs as it stands there, in a folder like a fresh checkout."""

import os
import pathlib
import re
import subprocess
import tempfile
import unittest

import h5py

import program

ROOT = pathlib.Path(__file__).resolve().parents[2]


def blocks(heading):
    """The shell blocks of a section, as lists of lines."""
    text = (ROOT / "README.md").read_text()
    section = text.split(f"\n## {heading}\n", 1)[1].split("\n## ", 1)[0]
    return [block.strip().splitlines() for block in re.findall(r"```sh\n(.*?)```", section, re.S)]


class Readme(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        for entry in ROOT.iterdir():
            if entry.name not in ("build", ".git"):
                (self.folder / entry.name).symlink_to(entry)

    def run_line(self, line):
        path = os.pathsep.join([os.path.dirname(program.PROGRAM), os.environ["PATH"]])
        done = subprocess.run(
            ["bash", "-euo", "pipefail", "-c", line],
            cwd=self.folder,
            env={**os.environ, "PATH": path, "CATOPTRA": program.PROGRAM},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
            text=True,
            timeout=900,
        )
        self.assertEqual(done.returncode, 0, f"{line}\n{done.stdout}\n{done.stderr}")
        return done.stdout

    def run_block(self, number):
        return {line: self.run_line(line) for line in blocks("First steps")[number]}

    def test_there_are_three(self):
        self.assertEqual(len(blocks("First steps")), 3)

    def test_designer(self):
        said = self.run_block(0)
        verbs = [line.split()[1] for line in said if line.startswith("catoptra")]
        self.assertEqual(verbs, ["check", "look", "trace", "steer", "report"])
        day = next(text for line, text in said.items() if line.startswith("catoptra steer"))
        self.assertRegex(day, r"\nday: [0-9.]+±[0-9.]+ kWh absorbed, of [0-9.]+ kWh = DNI x aperture area x time\n")
        self.assertTrue((self.folder / "my-bowl-steer.html").exists())

    def test_student(self):
        said = self.run_block(1)
        with h5py.File(self.folder / "rough.h5") as rough, h5py.File(self.folder / "smooth.h5") as smooth:
            self.assertEqual(smooth["scene/source"][()].decode(), (ROOT / "scenes" / "dish.toml").read_text())
            self.assertNotEqual(rough["scene/source"][()], smooth["scene/source"][()])
        self.assertIn("difference from A", said["catoptra compare smooth.h5 rough.h5"])
        self.assertIn("intercept_factor", list(said.values())[-1])

    def test_reviewer(self):
        said = self.run_block(2)
        self.assertIn("0 disagree", said["tools/validate 01"])
        self.assertTrue((self.folder / "bowl-budget.pdf").exists())

    def test_the_two_commands_come_first(self):
        self.assertEqual(blocks("Two commands"), [["./tools/try", "./tools/test"]])
        for command in ("try", "test"):
            self.assertTrue(os.access(ROOT / "tools" / command, os.X_OK))

    def test_planned_verbs_say_so(self):
        table = (ROOT / "README.md").read_text()
        planned = re.findall(r"^\| `(\w+)` \|.*\| planned \|$", table, re.M)
        self.assertEqual(planned, ["sweep", "year"])
        for verb in planned:
            for words in ([verb], [verb, "--help"], [verb, "scenes/bowl.toml"]):
                done = subprocess.run([program.PROGRAM, *words], capture_output=True, text=True)
                self.assertEqual((done.returncode, done.stdout), (2, ""))
                self.assertIn(f"'{verb}' is planned, not built yet\n  allowed: ", done.stderr)

    def test_scene_of_the_readme_is_sound(self):
        scene = re.search(r"```toml\n(.*?)```", (ROOT / "README.md").read_text(), re.S)[1]
        (self.folder / "readme.toml").write_text(scene)
        done = subprocess.run([program.PROGRAM, "check", str(self.folder / "readme.toml")], capture_output=True, text=True)
        self.assertEqual((done.returncode, done.stderr), (0, ""))


if __name__ == "__main__":
    program.main()
