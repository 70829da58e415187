"""A stream that is closed, full or without a reader: no run ends by it, every result is written, the exit code says so."""

import os
import pty
import resource
import signal
import subprocess
import time

import h5py

import program
from program import ProgramTest

STEERED = program.DISH.replace('mount = { kind = "fixed", position_m = [0, 0, 0] }', 'mount = { kind = "two_axis", pivot_m = [0, 0, 0] }')
LOST = "catoptra: error: can't write to the standard output\n"


def closed_at_start(*descriptors):
    def close():
        for descriptor in descriptors:
            os.close(descriptor)

    return close


class Lost(ProgramTest):
    def run_with(self, words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, **more):
        done = subprocess.run(
            [program.PROGRAM, *words], cwd=self.folder, stdin=subprocess.DEVNULL, stdout=stdout, stderr=stderr, timeout=300, **more
        )
        return done.returncode, (done.stdout or b"").decode(), (done.stderr or b"").decode()

    def samples(self, name="dish.h5"):
        with h5py.File(self.folder / name) as file:
            return file.attrs["samples"]

    def broken_pipe(self):
        """A pipe that nobody reads."""
        read_end, write_end = os.pipe()
        os.close(read_end)
        self.addCleanup(os.close, write_end)
        return write_end

    def test_terminal_that_is_closed(self):
        """The bar meets a terminal that is gone (EIO) in the middle of the run."""
        ours, theirs = pty.openpty()
        with subprocess.Popen(
            [program.PROGRAM, "trace", "dish.toml", "-n", "2^23", "--threads", "1"],
            cwd=self.folder,
            env={**os.environ, "TERM": "xterm"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=theirs,
        ) as running:
            os.close(theirs)
            os.read(ours, 1)  # the first bar; others follow
            os.close(ours)
            out = running.stdout.read().decode()
            self.assertEqual(running.wait(), 1)
        self.assertIn("caution: concentrated sunlight", out)
        self.assertGreaterEqual(self.samples(), 2**23)

    def test_stderr_that_takes_nothing(self):
        """What is stopped says so: to nobody, but the file and the exit code tell."""
        with open("/dev/full", "w") as full:
            for name, how in {
                "closed": {"stderr": None, "preexec_fn": closed_at_start(2)},
                "full": {"stderr": full},
                "no reader": {"stderr": self.broken_pipe()},
            }.items():
                with self.subTest(name):
                    self.assertEqual(self.run_with(["trace", "missing.toml"], **how)[0], 2)
                    self.assertEqual(self.run_with(["trace", "dish.toml", "-o", "no/a.h5"], **how)[0], 1)
                    self.assertEqual(self.run_with(["trace", "dish.toml", "-n", "2^14", "-q"], **how)[0], 0)
                    self.assertGreaterEqual(self.samples(), 2**14)
                    (self.folder / "dish.h5").unlink()

    def test_no_file_becomes_a_stream(self):
        """With descriptor 2 free the result would be opened as it, and a message would be written into the result."""
        code, _, _ = self.run_with(["trace", "dish.toml", "-n", "2^14"], stdout=None, stderr=None, preexec_fn=closed_at_start(0, 1, 2))
        self.assertEqual(code, 1)
        self.assertGreaterEqual(self.samples(), 2**14)

    def test_stdout_that_takes_nothing(self):
        with open("/dev/full", "w") as full:
            for name, how in {
                "closed": {"stdout": None, "preexec_fn": closed_at_start(1)},
                "full": {"stdout": full},
                "no reader": {"stdout": self.broken_pipe()},
            }.items():
                with self.subTest(name):
                    for words in [["--version"], ["--help"], ["check", "dish.toml"], ["trace", "dish.toml", "-n", "2^14"]]:
                        code, _, err = self.run_with(words, **how)
                        self.assertEqual((code, err), (1, LOST), words)
                    self.assertGreaterEqual(self.samples(), 2**14)
                    (self.folder / "dish.h5").unlink()
                    code, _, err = self.run_with(["trace", "missing.toml"], **how)
                    self.assertEqual((code, err), (2, "missing.toml: error: can't read the scene: no such file\n"))

    def test_size_limit(self):
        """SIGXFSZ would end the program without a word."""

        def limit():
            resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))

        for words, name in [
            (["trace", "dish.toml", "-n", "2^14"], "dish.h5"),
            (["look", "dish.toml"], "dish.html"),
            (["steer", "dish.toml", "-n", "2^14"], "dish-steer.h5"),
        ]:
            with self.subTest(words[0]):
                (self.folder / "dish.toml").write_text(STEERED)
                (self.folder / name).write_text("")
                code, _, err = self.run_with(words, preexec_fn=limit)
                self.assertEqual(code, 1)
                self.assertIn(f"catoptra: error: can't write '{name}': File too large\n", err)
                self.assertEqual((self.folder / name).read_text(), "")
                (self.folder / name).unlink()
                self.assertEqual(self.files(), ["dish.toml"])


class Signals(ProgramTest):
    def start(self, *words, **more):
        """A trace that would take for ever, from when it listens to signals on."""
        running = subprocess.Popen(
            [program.PROGRAM, *words],
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            stdout=more.pop("stdout", subprocess.PIPE),
            stderr=subprocess.PIPE,
            **more,
        )
        self.addCleanup(self.tidy, running)
        while not self.caught(running.pid) & 1 << signal.SIGTERM - 1:
            self.assertIsNone(running.poll())
            time.sleep(0.001)
        return running

    def tidy(self, running):
        running.kill()
        running.wait()
        for stream in [running.stdout, running.stderr]:
            if stream:
                stream.close()

    def caught(self, pid):
        with open(f"/proc/{pid}/status") as status:
            return int(next(line for line in status if line.startswith("SigCgt")).split()[1], 16)

    def end(self, running):
        out, err = running.communicate(timeout=120)
        return running.returncode, out.decode(), err.decode()

    def stopped(self, *numbers, apart_s=0.005):
        """Signals sent one after the other to traces of ever more seconds, until one had something to keep."""
        for seconds in [1, 2, 4, 8, 16, 32]:
            running = self.start("trace", "dish.toml", "-n", "1e12")
            time.sleep(seconds)
            for number in numbers:
                running.send_signal(number)
                time.sleep(apart_s)
            code, out, err = self.end(running)
            self.assertEqual(code, 75, err)
            if "nothing is kept" not in err:
                return out, err
        self.fail("no samples done")

    def kept(self, *numbers):
        out, err = self.stopped(*numbers)
        self.assertRegex(err, r"catoptra: stopped; the \d+ samples done are kept in 'dish.h5'")
        self.assertIn("caution: concentrated sunlight", out)
        with h5py.File(self.folder / "dish.h5") as file:
            self.assertEqual(file.attrs["interrupted"], 1)
            self.assertGreater(file.attrs["samples"], 0)

    def test_terminal_hangs_up(self):
        self.kept(signal.SIGHUP)

    def test_scheduler_says_it_again(self):
        """A scheduler's grace: TERM, and again TERM, some milliseconds apart."""
        self.kept(signal.SIGTERM, signal.SIGTERM, signal.SIGHUP, signal.SIGTERM)

    def test_one_interrupt_told_twice(self):
        """`timeout -s INT` tells the program and its group."""
        self.kept(signal.SIGINT, signal.SIGINT)

    def test_signal_while_a_large_scene_is_made_ready(self):
        rows = "".join(f"{x},{y},0\n" for x in range(-200, 200, 3) for y in range(20, 300, 3))
        (self.folder / "field.csv").write_text("x_m,y_m,z_m\n" + rows)
        field = program.DISH + (
            '\n[[primary]]\nname = "field"\nshape = { kind = "plane" }\n'
            "aperture = { kind = \"rectangle\", width_m = 2, length_m = 2 }\nfinish = \"silver\"\n"
            'mount = { kind = "heliostat", aim = "absorber" }\narray = { kind = "csv", file = "field.csv" }\n'
        )
        (self.folder / "dish.toml").write_text(field.replace("position_m = [0, 0, 5], axis = [0, 0, -1]", "position_m = [0, 0, 80], axis = [0, 1, 0]"))
        running = self.start("trace", "dish.toml", "-n", "1e12")
        running.send_signal(signal.SIGTERM)
        self.assertEqual(
            self.end(running), (75, "", "catoptra: stopped before the first samples were done; nothing is kept\n")
        )
        self.assertEqual(self.files(), ["dish.toml", "field.csv"])

    def test_only_a_second_interrupt_ends_what_is_stuck(self):
        """A reader that does not read holds the run up while it prints."""
        for numbers, ends in [([signal.SIGTERM] * 3 + [signal.SIGHUP], False), ([signal.SIGINT] * 2, True)]:
            with self.subTest(numbers):
                read_end, write_end = os.pipe()
                os.set_blocking(write_end, False)
                try:
                    while True:
                        os.write(write_end, b"." * 4096)
                except BlockingIOError:
                    os.set_blocking(write_end, True)
                running = self.start("trace", "dish.toml", "-n", "2^16", "-q", stdout=write_end)
                os.close(write_end)
                while not (self.folder / "dish.h5").exists():
                    time.sleep(0.01)
                time.sleep(0.5)  # to get from the file to the table
                for number in numbers:
                    running.send_signal(number)
                    time.sleep(0.4)
                if ends:
                    self.assertEqual(running.wait(timeout=60), -signal.SIGINT)
                else:
                    self.assertIsNone(running.poll())
                    with open(read_end, "rb", closefd=False) as reader:
                        self.assertIn(b"caution: concentrated sunlight", reader.read())
                    self.assertEqual(running.wait(timeout=60), 0)
                os.close(read_end)
                (self.folder / "dish.h5").unlink()

    def test_nohup(self):
        def ignore():
            signal.signal(signal.SIGHUP, signal.SIG_IGN)

        running = self.start("trace", "dish.toml", "-n", "2^22", preexec_fn=ignore)
        running.send_signal(signal.SIGHUP)
        code, _, err = self.end(running)
        self.assertEqual((code, err), (0, ""))


if __name__ == "__main__":
    program.main()
