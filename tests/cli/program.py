"""Runs the built program for the tests beside this file; standard library only."""

import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM = ""  # path of the built program, from the command line

# A small dish that stands under the sun at the zenith: an invented scene.
DISH = """schema = 1
title = "Dish on the plateau test field (invented)"

[sun]
dni_W_m2 = 1000
azimuth_deg = 180
elevation_deg = 90
shape = { kind = "disc" }

[finish.silver]
kind = "mirror"
reflectance = 0.9
slope_error_mrad = 3

[finish.black]
kind = "absorber"
absorptance = 0.95

[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "circle", diameter_m = 8 }
finish = "silver"
mount = { kind = "fixed", position_m = [0, 0, 0] }

[[receiver]]
name = "absorber"
shape = { kind = "disc", diameter_m = 0.1 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 5], axis = [0, 0, -1] }
flux = { bins = [12, 10] }
"""
APERTURE_AREA_M2 = 3.141592653589793 * 4**2


class ProgramTest(unittest.TestCase):
    """Each test has a folder of its own with dish.toml in it."""

    maxDiff = None

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        (self.folder / "dish.toml").write_text(DISH)

    def run_program(self, *words, environment=None, **more):
        """Returns (exit code, stdout, stderr)."""
        done = subprocess.run(
            [PROGRAM, *words],
            cwd=self.folder,
            env={**os.environ, **(environment or {})},
            stdout=more.pop("stdout", subprocess.PIPE),
            stderr=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
            text=True,
            timeout=300,
            **more,
        )
        return done.returncode, done.stdout, done.stderr

    def files(self):
        return sorted(path.name for path in self.folder.iterdir())


def main():
    global PROGRAM
    if len(sys.argv) < 2:
        sys.exit(f"usage: {sys.argv[0]} PROGRAM [unittest options]")
    PROGRAM = os.path.abspath(sys.argv.pop(1))
    unittest.main(module="__main__")
