"""What a finished, a stopped and a failed trace print and leave behind."""

import json
import os
import pty
import resource
import signal
import subprocess

import program
from program import ProgramTest

TERMS = [
    "cosine",
    "shading",
    "primary_absorption",
    "blocking",
    "secondary_absorption",
    "cover_loss",
    "spillage",
    "receiver_reflection",
    "absorbed",
]
ESTIMATE = {"value": float, "standard_error": float}
SCHEMA = {
    "schema_version": int,
    "generator": str,
    "created_utc": str,
    "scene": str,
    "settings": list,
    "file": str,
    "seed": int,
    "samples": int,
    "replicates": int,
    "wall_time_s": float,
    "precision_reached": bool,
    "interrupted": bool,
    "warnings": list,
    "sun": {"dni_W_m2": float, "azimuth_deg": float, "elevation_deg": float},
    "aperture_area_m2": float,
    "incident_power_W": float,
    "closure_W": ESTIMATE,
    "optical_efficiency": ESTIMATE,
    "intercept_factor": ESTIMATE,
    "budget": {term: {"power_W": ESTIMATE} for term in TERMS},
    "budget_by_component": {"dish": None, "absorber": None},
    "receivers": {
        "absorber": {
            "area_m2": float,
            "intercept_factor": ESTIMATE,
            "arriving_power_W": ESTIMATE,
            "absorbed_power_W": ESTIMATE,
            "direct_power_W": ESTIMATE,
            "mean_concentration": ESTIMATE,
            "peak_concentration": {**ESTIMATE, "position": None},  # its keys are the flux map's axes
        }
    },
}
CAUTION = """
result: dish.h5
caution: concentrated sunlight burns and blinds; before you build, follow local
codes and have the design checked by licensed practice.
"""


def shape_faults(value, schema, where="top"):
    """What keeps `value` from having exactly the keys, in order, and types of `schema`."""
    if schema is None:
        return []
    if isinstance(schema, dict):
        if not isinstance(value, dict) or list(value) != list(schema):
            return [f"{where}: {list(value) if isinstance(value, dict) else value}, not {list(schema)}"]
        return [fault for key in schema for fault in shape_faults(value[key], schema[key], f"{where}.{key}")]
    allowed = (int, float) if schema is float else schema
    wrong = not isinstance(value, allowed) or (schema is not bool and isinstance(value, bool))
    return [f"{where}: {value!r} is no {schema.__name__}"] if wrong else []


class Finished(ProgramTest):
    def test_text(self):
        code, out, err = self.run_program("trace", "dish.toml", "--samples", "2^14")
        self.assertEqual((code, err), (0, ""))  # a short run shows no progress where stderr is no terminal
        self.assertTrue(out.startswith("Dish on the plateau test field (invented)\n"), out)
        self.assertTrue(out.endswith(CAUTION), out)
        self.assertLessEqual(max(len(line) for line in out.splitlines()), 80)
        for words in [*TERMS, "optical_efficiency", "intercept_factor", "peak_concentration"]:
            self.assertIn(words.replace("_", " "), out)
        self.assertEqual(self.files(), ["dish.h5", "dish.toml"])

    def test_json(self):
        code, out, err = self.run_program("trace", "dish.toml", "--samples", "2^14", "--json", "--seed", "7")
        self.assertEqual((code, err), (0, ""))
        found = json.loads(out)
        self.assertEqual(shape_faults(found, SCHEMA), [])
        self.assertEqual(list(found["receivers"]["absorber"]["peak_concentration"]["position"]), ["x_m", "y_m"])
        self.assertEqual((found["seed"], found["file"], found["interrupted"]), (7, "dish.h5", False))
        self.assertGreaterEqual(found["samples"], 2**14)

        # The area of a circle, and no watt lost: the terms and what is measured as left over add to DNI x aperture area,
        # and what is left over is nothing within its error, which would show a ten thousandth.
        incident_W = 1000 * program.APERTURE_AREA_M2
        self.assertAlmostEqual(found["aperture_area_m2"] / program.APERTURE_AREA_M2, 1, delta=1e-12)
        total_W = sum(term["power_W"]["value"] for term in found["budget"].values())
        closure = found["closure_W"]
        self.assertAlmostEqual((total_W + closure["value"]) / incident_W, 1, delta=1e-9)
        self.assertLess(abs(closure["value"]), 5 * closure["standard_error"])
        self.assertLess(5 * closure["standard_error"], 1e-4 * incident_W)
        # Light that is absorbed met one mirror of 0.9 and one absorber of 0.95 (Lambert's light may come back again).
        efficiency = found["optical_efficiency"]["value"]
        self.assertAlmostEqual(efficiency, found["budget"]["absorbed"]["power_W"]["value"] / incident_W, delta=1e-12)
        self.assertTrue(0 < efficiency < 0.9)

    def test_json_schema_check_can_fail(self):
        self.assertEqual(len(shape_faults({"a": True}, {"a": int})), 1)
        self.assertEqual(len(shape_faults({"b": 1}, {"a": int})), 1)

    def test_precision(self):
        code, out, err = self.run_program("trace", "dish.toml", "--precision", "0.5%", "--json")
        self.assertEqual((code, err), (0, ""))
        found = json.loads(out)
        estimate = found["intercept_factor"]
        self.assertTrue(found["precision_reached"])
        self.assertLessEqual(estimate["standard_error"], 0.005 * estimate["value"])

    def test_precision_not_reached_is_said(self):
        words = ["trace", "dish.toml", "--precision", "0.00001%", "--max-samples", "2^14"]
        code, out, err = self.run_program(*words)
        self.assertEqual((code, err), (0, ""))
        self.assertIn("\nwarning: the precision asked for was not reached within the samples allowed\n", out)

    def test_reproducible_bytes(self):
        contents = []
        for _ in range(2):
            code, _, err = self.run_program(
                "trace", "dish.toml", "--samples", "2^14", environment={"SOURCE_DATE_EPOCH": "951782400"}
            )
            self.assertEqual((code, err), (0, ""))
            contents.append((self.folder / "dish.h5").read_bytes())
            (self.folder / "dish.h5").unlink()
        self.assertEqual(contents[0], contents[1])


class Failed(ProgramTest):
    def test_full_disk(self):
        """A limit on file sizes stands for a full disk, wherever it is: the old result stays, nothing half-written lies
        beside it, and what was found is printed."""
        self.assertEqual(self.run_program("trace", "dish.toml", "--samples", "2^14")[0], 0)
        old = (self.folder / "dish.h5").read_bytes()

        def limit():
            resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))

        code, out, err = self.run_program("trace", "dish.toml", "--samples", "2^15", preexec_fn=limit)
        self.assertEqual((code, err), (1, "catoptra: error: can't write 'dish.h5': File too large\n"))
        self.assertIn("\n32768 samples", out)
        self.assertIn("\nresult: (not kept)\n", out)
        self.assertEqual((self.folder / "dish.h5").read_bytes(), old)
        self.assertEqual(self.files(), ["dish.h5", "dish.toml"])

    def test_output_that_takes_nothing(self):
        with open("/dev/full", "w") as full:
            code, _, err = self.run_program("trace", "dish.toml", "--samples", "2^14", stdout=full)
        self.assertEqual((code, err), (1, "catoptra: error: can't write to the standard output\n"))


class Terminal(ProgramTest):
    def stopped(self, environment):
        """Starts a trace that would take for ever and presses Ctrl-C at its bar: again, later, until samples were
        done by then. Returns (code, JSON, stderr)."""
        for bars in [4 * 2**i for i in range(10)]:
            code, out, shown = self.stopped_after(bars, environment)
            if not shown.endswith("catoptra: stopped before the first samples were done; nothing is kept\r\n"):
                return code, json.loads(out), shown
            self.assertEqual((code, out, self.files()), (75, b"", ["dish.toml"]))
        self.fail("no samples done")

    def stopped_after(self, bars, environment):
        ours, theirs = pty.openpty()
        self.addCleanup(os.close, ours)
        with subprocess.Popen(
            [program.PROGRAM, "trace", "dish.toml", "--samples", "1e12", "--json"],
            cwd=self.folder,
            env={**os.environ, "TERM": "xterm", "NO_COLOR": "", **environment},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=theirs,
        ) as running:
            os.close(theirs)
            shown = b""
            while shown.count(b"\r") < bars:
                shown += os.read(ours, 4096)
            running.send_signal(signal.SIGINT)
            out = running.stdout.read()
            code = running.wait()
        while True:
            try:
                more = os.read(ours, 4096)
            except OSError:  # the terminal's other end is closed: Linux says EIO
                break
            if not more:
                break
            shown += more
        return code, out, shown.decode()

    def test_ctrl_c_keeps_what_is_done(self):
        code, found, err = self.stopped({})
        self.assertEqual(code, 75)
        self.assertTrue(found["interrupted"])
        self.assertGreater(found["samples"], 0)
        self.assertTrue(
            err.endswith(f"catoptra: stopped; the {found['samples']} samples done are kept in 'dish.h5'; the same command goes on\r\n"), err
        )
        self.assertIn("\x1b[33m", err)
        self.assertEqual(self.files(), ["dish.h5", "dish.h5.checkpoint", "dish.toml"])

    def test_no_color(self):
        _, _, err = self.stopped({"NO_COLOR": "1"})
        self.assertNotIn("\x1b[33m", err)
        self.assertIn("....", err)


if __name__ == "__main__":
    program.main()
