"""Any number of threads writes the same numbers: each verb that computes, for each kind of search and of mount."""

import pathlib

import program
import steer_test
from open_result import numbers
from program import ProgramTest

SCENES = pathlib.Path(__file__).resolve().parents[2] / "scenes"
EPOCH = {"SOURCE_DATE_EPOCH": "0"}
QUICK = ["--samples", "2^12", "--search-samples", "2^9", "--replicates", "4"]
AS_BUILT = ["--tolerance", "--realisations", "5", "--draw", "pointing=1mrad"]


class Threads(ProgramTest):
    def files_of(self, threads, words):
        """What a run writes: tables and scenes as they are, results by their numbers."""
        before = self.files()
        code, _, err = self.run_program(*words, "--threads", threads, "--quiet", environment=EPOCH)
        self.assertEqual((code, err), (0, ""), words)
        found = {}
        for name in self.files():
            path = self.folder / name
            if name in before:
                continue
            found[name] = numbers(path) if path.suffix == ".h5" else path.read_bytes()
            path.unlink()
        return found

    def same(self, *words):
        one = self.files_of("1", words)
        self.assertTrue(one)
        for threads in ["2", "7"]:
            self.assertEqual(self.files_of(threads, words), one, words)
        return one

    def take(self, name):
        for path in SCENES.glob(f"{name}*"):
            if path.suffix in (".toml", ".csv"):
                (self.folder / path.name).write_bytes(path.read_bytes())
        return f"{name}.toml"

    def test_trace(self):
        # Lists of neighbours; Embree; a pane, a tube of glass; a law, a table of poses.
        for name in ["tower", "cpc-trough", "dish-window", "trough-glass", "centre-cup", "centre-trough"]:
            found = self.same("trace", self.take(name), "-n", "2^16")
            self.assertEqual(list(found), [f"{name}.h5"])
        other = self.files_of("2", ["trace", "tower.toml", "-n", "2^16", "--seed", "2"])
        self.assertNotEqual(other["tower.h5"], self.files_of("2", ["trace", "tower.toml", "-n", "2^16"])["tower.h5"])

    def test_steer(self):
        (self.folder / "bowl.toml").write_text(steer_test.BOWL)
        found = self.same("steer", "bowl.toml", "--day", "2026-06-21", "--every", "6h", *QUICK, *AS_BUILT)
        tables = ["bowl-steer-realisations.csv", "bowl-steer-tolerance.csv", "bowl-steer.csv"]
        self.assertEqual(sorted(found), [*tables, "bowl-steer.h5"])
        for name in ["/budget/power_W", "/poses/pilot/offset_m", "/realisations/absorbed_share"]:
            self.assertIn(name.strip("/"), found["bowl-steer.h5"])
        self.assertTrue(any(name.startswith("tolerance/pilot") for name in found["bowl-steer.h5"]))

    def test_steer_what_laws_move(self):
        found = self.same(
            "steer", self.take("centre-cup"), "--day", "2026-06-21", "--every", "4h", *QUICK[:2], *QUICK[4:], *AS_BUILT
        )
        self.assertIn("realisations/absorbed_share", found["centre-cup-steer.h5"])
        self.same("steer", self.take("dish-window"), "--day", "2026-06-21", "--every", "4h", *QUICK[:2], *QUICK[4:])

    def test_free(self):
        (self.folder / "bowl.toml").write_text(steer_test.BOWL)
        found = self.same(
            "steer", "bowl.toml", "--free", "receiver.tube.mount.position_m.z=1..2.2", "--evaluations", "4", *QUICK
        )
        self.assertEqual(sorted(found), ["bowl-best.toml", "bowl-steer.csv", "bowl-steer.h5"])


if __name__ == "__main__":
    program.main()
