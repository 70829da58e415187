"""What a run takes of the machine: bounded, foretold, and refused where there is too little."""

import os
import re
import resource
import subprocess

import program
from program import ProgramTest

HEAD = program.DISH.split("[[receiver]]")[0]
UNITS = {"kB": 1e3, "MB": 1e6, "GB": 1e9}


def tube(name, bins, z_m=5.0, x_m=0.0):
    """A round receiver, whose bins have areas in closed form."""
    return f"""
[[receiver]]
name = "{name}"
shape = {{ kind = "cylinder", radius_m = 0.05, length_m = 0.3 }}
finish = "black"
mount = {{ kind = "fixed", position_m = [{x_m}, 0, {z_m}] }}
flux = {{ bins = [{bins}, {bins}] }}
"""


def map_B(bins, receivers=1):
    """Irradiance, its error and the area of each bin, in doubles."""
    return 24 * bins * bins * receivers


WIDE = HEAD + tube("absorber", 2048)
MANY = HEAD + "".join(tube(f"absorber {i}", 64, 4.9 + 0.002 * (i // 20), 0.12 * (i % 20)) for i in range(400))
TOO_MANY = HEAD + "".join(tube(f"absorber {i}", 4096, 5, 0.12 * i) for i in range(8))


class Memory(ProgramTest):
    def scene(self, text):
        (self.folder / "s.toml").write_text(text)

    def peak_B(self, *words):
        """Runs the program; the most memory that it had, and its exit code."""
        with subprocess.Popen(
            [program.PROGRAM, *words], cwd=self.folder, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL
        ) as running:
            _, status, usage = os.wait4(running.pid, 0)
            running.returncode = os.waitstatus_to_exitcode(status)
        return 1024 * usage.ru_maxrss, running.returncode

    def limited(self, limit_B, *words):
        limit = lambda: resource.setrlimit(resource.RLIMIT_AS, (limit_B, limit_B))
        return self.run_program(*words, preexec_fn=limit)

    def foretold_B(self):
        code, out, err = self.run_program("check", "s.toml")
        self.assertEqual((code, err), (0, ""))
        line = out.splitlines()[-1]
        found = re.fullmatch(
            r"trace with its default options: about ([\d.]+) (.B) of memory, a file of ([\d.]+) (.B)", line
        )
        self.assertIsNotNone(found, line)
        return float(found[1]) * UNITS[found[2]], float(found[3]) * UNITS[found[4]]

    def test_maps_take_a_small_multiple_of_themselves(self):
        # With a place for each bin in each of 32 replicates they took 43 times as much.
        for text, maps_B in [(WIDE, map_B(2048)), (MANY, map_B(64, 400))]:
            self.scene(text)
            peak_B, code = self.peak_B("trace", "s.toml", "--quiet", "--threads", "2")
            self.assertEqual(code, 0)
            self.assertLess(peak_B, 60e6 + 8 * maps_B)
            self.assertGreater(peak_B, 2 * maps_B)  # the maps and the file: what is measured is the run

    def test_check_foretells_memory_and_file(self):
        for text in [program.DISH, WIDE, MANY]:
            self.scene(text)
            memory_B, file_B = self.foretold_B()
            peak_B, code = self.peak_B("trace", "s.toml", "--quiet")
            self.assertEqual(code, 0)
            self.assertLess(peak_B, 1.25 * memory_B)
            self.assertGreater(peak_B, memory_B / 2.5)
            written_B = (self.folder / "s.h5").stat().st_size
            self.assertLess(written_B, 1.25 * file_B)
            self.assertGreater(written_B, file_B / 1.25)

    def test_a_scene_beyond_the_memory_is_refused(self):
        # A bin takes 24 bytes in the map and in the file, and while tracing 12: its area, and with which it is counted.
        self.scene(TOO_MANY)
        code, out, err = self.limited(3 << 30, "trace", "s.toml")
        self.assertEqual((code, out), (2, ""))
        self.assertEqual(
            err,
            "catoptra: error: s.toml: this takes 8.1 GB of memory at least, and there are 3.2 GB\n"
            "  flux maps: 3.2 GB, for 8 receivers with 134217728 bins in all, the largest of 4096 x 4096 bins, on "
            "'absorber 0'\n"
            "  the result file, which is made in memory: 3.2 GB\n"
            "  allowed: flux = { bins = [n, m] } with smaller numbers, fewer receivers, or more memory\n",
        )
        self.assertEqual(self.files(), ["dish.toml", "s.toml"])
        code, out, err = self.limited(3 << 30, "check", "s.toml")  # says so, and is not refused
        self.assertEqual((code, err), (0, ""))

    def test_steer_refuses_too(self):
        import steer_test  # here: what it imports takes memory, which counts as that of the programs begun afterwards

        head, mark, tube = steer_test.BOWL.partition("[[receiver]]")
        bins = "flux = { bins = [4096, 4096] }\n"
        self.scene(head + mark + tube + bins + mark + tube.replace("tube", "second") + bins)
        code, out, err = self.limited(700 << 20, "steer", "s.toml", *steer_test.DAY, *steer_test.QUICK)
        self.assertEqual((code, out), (2, ""))
        self.assertIn("s.toml: this takes 1.2 GB of memory at least, and there are 734 MB\n", err)
        self.assertNotIn("result file", err)
        self.assertEqual(self.files(), ["dish.toml", "s.toml"])

    def test_memory_that_runs_out_is_told_in_words(self):
        self.scene(WIDE)
        # Enough for what is sure, and not for all else.
        code, out, err = self.limited(300 << 20, "trace", "s.toml", "--quiet", "--threads", "1")
        self.assertEqual((code, out), (1, ""))
        self.assertIn("catoptra: warning: s.toml: this may take ", err)
        self.assertIn(
            "catoptra: error: the system gives no more memory\n"
            "  allowed: smaller flux = { bins = [n, m] }, fewer receivers, --replicates or --threads; 'catoptra check'\n"
            "  says what a trace takes\n",
            err,
        )
        self.assertNotIn("bad_alloc", err)
        self.assertEqual(self.files(), ["dish.toml", "s.toml"])


if __name__ == "__main__":
    program.main()
