"""A run that is killed goes on from its checkpoint, to the bit of one that was left alone."""

import os
import random
import re
import signal
import subprocess
import time

import program
import steer_test
from program import ProgramTest

EPOCH = {"SOURCE_DATE_EPOCH": "951782400"}  # equal runs give equal bytes
OFTEN = ["--checkpoint", "0.001s", "--quiet"]
NOW_AND_THEN = ["--checkpoint", "0.05s", "--quiet"]  # a search has something to keep each millisecond
STEER = ["steer", "bowl.toml", "--day", "2026-06-21", "--every", "4h", "--replicates", "8", "--search-samples", "2^9"]


class Resumed(ProgramTest):
    def setUp(self):
        super().setUp()
        (self.folder / "bowl.toml").write_text(steer_test.BOWL)

    def outputs(self, *endings):
        found = {path.name: path.read_bytes() for path in self.folder.iterdir() if path.name.endswith(endings)}
        for name in found:
            (self.folder / name).unlink()
        return found

    def undisturbed(self, words, *endings):
        began = time.monotonic()
        code, _, err = self.run_program(*words, environment=EPOCH)
        self.assertEqual((code, err), (0, ""))
        self.assertEqual([name for name in self.files() if "checkpoint" in name], [])
        return self.outputs(*endings), time.monotonic() - began

    def killed_and_resumed(self, words, kills, seed, *endings, longest=0.2):
        """Kills the run again and again after random times, each a small share of what the whole takes, and begins it
        anew when it has come to its end, until it was killed often enough."""
        want, whole_s = self.undisturbed(words, *endings)
        self.assertGreater(len(want), 0)
        draw = random.Random(seed)
        killed = finished = resumed = 0
        while killed < kills or finished == 0:
            resumed += any(name.endswith(".checkpoint") for name in self.files())
            running = subprocess.Popen(
                [program.PROGRAM, *words], cwd=self.folder, env={**os.environ, **EPOCH},
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )
            try:
                running.wait(timeout=draw.uniform(0.02, longest * whole_s) if killed < kills else 300)
            except subprocess.TimeoutExpired:
                running.send_signal(signal.SIGKILL)
                running.wait()
                killed += 1
                continue
            self.assertEqual(running.returncode, 0)
            self.assertEqual([name for name in self.files() if "checkpoint" in name], [])
            found = self.outputs(*endings)
            self.assertEqual(list(found), list(want))
            for name in want:
                self.assertTrue(found[name] == want[name], f"{name} differs after {killed} kills")
            finished += 1
        self.assertGreater(resumed, kills // 4)

    def test_trace_killed_50_times(self):
        self.killed_and_resumed(["trace", "dish.toml", "-n", "2^22", *OFTEN], 50, 1, ".h5")

    def test_trace_to_a_precision_killed_10_times(self):
        self.killed_and_resumed(["trace", "dish.toml", "--precision", "0.02%", *OFTEN], 10, 2, ".h5", longest=0.7)

    def test_steer_killed_30_times(self):
        self.killed_and_resumed(
            [*STEER, "-n", "2^14", "--tolerance", "--realisations", "3", "--draw", "pointing=1mrad", *NOW_AND_THEN], 30, 3, ".h5", ".csv"
        )

    def test_search_of_a_shape_killed_10_times(self):
        free = ["--free", "receiver.absorber.mount.position_m.z=4.6..5.5", "--evaluations", "12", "--search-samples", "2^19"]
        self.killed_and_resumed(["steer", "dish.toml", *free, *NOW_AND_THEN], 10, 4, ".h5", ".csv", "-best.toml", longest=0.7)

    def test_steer_that_is_stopped_goes_on(self):
        words = [*STEER, "-n", "2^14", "--checkpoint", "5min", "--quiet"]
        want, whole_s = self.undisturbed(words, ".h5", ".csv")
        patience_s = whole_s / 4
        for _ in range(60):
            running = subprocess.Popen(
                [program.PROGRAM, *words], cwd=self.folder, env={**os.environ, **EPOCH},
                stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            )
            time.sleep(patience_s)
            running.send_signal(signal.SIGTERM)
            running.communicate()
            self.assertIn(running.returncode, [75, 0])
            # What the checkpoint does not keep (where the search looks first) is worked out again each time. On a busy
            # machine that alone may take as long as the first tries.
            patience_s *= 1.15
            if running.returncode == 0:
                break
            self.assertIn("bowl-steer.h5.checkpoint", self.files())
        self.assertEqual(running.returncode, 0)
        self.assertEqual(self.outputs(".h5", ".csv"), want)


class Told(ProgramTest):
    def start(self, *words):
        running = subprocess.Popen(
            [program.PROGRAM, *words], cwd=self.folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        self.addCleanup(running.communicate)
        self.addCleanup(running.kill)
        return running

    def first_line(self, *words):
        """What it says first, at the latest as it ends."""
        running = self.start(*words)
        line = running.stderr.readline()
        running.kill()
        return line

    def stopped(self, words, until, waits_s=(1, 2, 4, 8, 16, 32), begins=""):
        """Runs the program, for ever more seconds from its line `begins` on, until a signal that stops it makes it say
        what `until` matches."""
        for seconds in waits_s:
            running = self.start(*words)
            if begins:
                self.assertIn(begins, running.stderr.readline())
            time.sleep(seconds)
            running.send_signal(signal.SIGTERM)
            _, err = running.communicate()
            self.assertEqual(running.returncode, 75)
            if re.search(until, err):
                return err
        self.fail(f"it never says '{until}'")

    def stop_one(self, *words):
        """Leaves a checkpoint."""
        return self.stopped(["trace", "dish.toml", "-n", "1e12", *words], "samples done are kept")

    def test_what_was_done_counts(self):
        """Stopped again soon after, a run that goes on has no less than before; one that began anew would have less."""
        first = self.stop_one()
        second = self.stopped(
            ["trace", "dish.toml", "-n", "1e12"], "samples done are kept", (0.1, 0.5, 1, 2, 4, 8, 16, 32), "goes on from 'dish.h5.checkpoint', "
        )
        samples = [int(re.search(r"the (\d+) samples done", err)[1]) for err in [first, second]]
        self.assertGreaterEqual(samples[1], samples[0])

    def test_what_a_search_knows_counts(self):
        (self.folder / "bowl.toml").write_text(steer_test.BOWL)
        words = ["steer", "bowl.toml", "--search-samples", "2^18"]
        path = self.folder / "bowl-steer.h5.checkpoint"
        self.stopped(words, "what the search knows is kept")
        size = path.stat().st_size
        self.stopped(words, "stopped", (0.1,), "goes on from 'bowl-steer.h5.checkpoint'\n")
        self.assertGreaterEqual(path.stat().st_size, size)
        self.stopped(words, "what the search knows is kept", (0.5, 1, 2, 4, 8, 16, 32), "goes on from")
        self.assertGreater(path.stat().st_size, size)

    def test_what_the_scene_reads_belongs_to_the_run(self):
        mount = 'mount = { kind = "fixed", position_m = [0, 0, 0] }'
        (self.folder / "dish.toml").write_text(program.DISH.replace(mount, mount + '\narray = { kind = "csv", file = "p.csv" }'))
        words = ["trace", "dish.toml", "-n", "1e12"]
        (self.folder / "p.csv").write_text("x_m,y_m,z_m\n0,0,0\n")
        self.stop_one()
        self.assertIn("goes on from 'dish.h5.checkpoint', ", self.first_line(*words))
        (self.folder / "p.csv").write_text("x_m,y_m,z_m\n0.001,0,0\n")
        self.assertIn("is of another run, whose scene, options or program differ: not used\n", self.first_line(*words))

    def test_what_belongs_to_another_run(self):
        err = self.stop_one()
        self.assertIn("; the same command goes on\n", err)
        kept = (self.folder / "dish.h5.checkpoint").read_bytes()
        told = "catoptra: 'dish.h5.checkpoint' is of another run, whose scene, options or program differ: not used\n"
        for words in [["--samples", "2^14", "--seed", "2"], ["--samples", "2^15"], ["--samples", "2^14", "--replicates", "8"]]:
            code, _, err = self.run_program("trace", "dish.toml", *words)
            self.assertEqual((code, err), (0, told))
        self.assertEqual((self.folder / "dish.h5.checkpoint").read_bytes(), kept)
        code, _, err = self.run_program("trace", "dish.toml", "--samples", "2^14", "--checkpoint", "off")
        self.assertEqual((code, err), (0, ""))
        text = (self.folder / "dish.toml").read_text()
        (self.folder / "dish.toml").write_text(text + "# another text\n")
        self.stop_one()  # now it keeps one of its own
        self.assertEqual((self.folder / "dish.h5.checkpoint.old").read_bytes(), kept)

    def test_what_is_damaged(self):
        self.stop_one()
        path = self.folder / "dish.h5.checkpoint"
        whole = path.read_bytes()
        for hurt, words in [
            (whole[:-1], "is damaged"),
            (whole[:-9] + bytes([whole[-9] ^ 1]) + whole[-8:], "is damaged"),
            (whole[:100], "is no checkpoint that this program reads"),
            (b"", "is no checkpoint that this program reads"),
        ]:
            path.write_bytes(hurt)
            said = self.first_line("trace", "dish.toml", "-n", "1e12")
            self.assertEqual(said, f"catoptra: 'dish.h5.checkpoint' {words}: not used\n")

    def test_off(self):
        running = subprocess.Popen(
            [program.PROGRAM, "trace", "dish.toml", "-n", "1e12", "--checkpoint", "off"],
            cwd=self.folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )
        time.sleep(1)
        running.send_signal(signal.SIGTERM)
        running.communicate()
        self.assertNotIn("dish.h5.checkpoint", self.files())

    def test_what_can_be_typed(self):
        for wrong in ["0s", "5", "never", "25h", "-1min"]:
            self.assertEqual(
                self.run_program("trace", "dish.toml", f"--checkpoint={wrong}"),
                (2, "", f"catoptra: error: --checkpoint is '{wrong}'\n  allowed: a number with its unit, s, min or h, from 0.001 s to 24 h: 10min\n"),
            )


if __name__ == "__main__":
    program.main()
