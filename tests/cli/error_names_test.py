"""Standard errors have one name in every file, table and JSON that the program writes: docs/result-schema.md says it."""

import csv
import json

import h5py

import program
import steer_test
from program import ProgramTest

# The units that stand at the end of a key, longest first.
UNITS = ["_W_m2", "_W", "_K", "_mrad", "_mm", "_percent", "_per_km", "_per_K", ""]
QUICK = ["--samples", "2^12", "--replicates", "4", "--quiet", "--json"]


def error_name(name):
    unit = next(unit for unit in UNITS if name.endswith(unit))
    return name[: len(name) - len(unit)] + "_standard_error" + unit


def json_faults(value, where=""):
    """Standard errors that stand elsewhere than beside their value."""
    if isinstance(value, list):
        return [fault for i, one in enumerate(value) for fault in json_faults(one, f"{where}[{i}]")]
    if not isinstance(value, dict):
        return []
    wrong = [f"{where}.{key}" for key in value if "error" in key and key != "standard_error" and "standard" in key]
    if ("standard_error" in value) and ("value" not in value):
        wrong.append(where)
    return wrong + [fault for key in value for fault in json_faults(value[key], f"{where}.{key}")]


class ErrorNames(ProgramTest):
    def check_file(self, name):
        """Returns how many numbers of an HDF5 file have an error."""
        found = []
        with h5py.File(self.folder / name) as file:

            def look(path, item):
                self.assertFalse([key for key in item.attrs if "error" in key], path)
                beside = item.attrs.get("ancillary_variables")
                if beside is not None:
                    self.assertEqual(beside, error_name(path.split("/")[-1]), path)
                    error = item.parent[beside]
                    self.assertEqual((error.shape, error.attrs["units"]), (item.shape, item.attrs["units"]))
                    found.append(error.name)

            file.visititems(look)
            every = []
            file.visit(every.append)
            self.assertEqual(sorted(found), sorted("/" + path for path in every if "standard_error" in path))
        return len(found)

    def check_table(self, name):
        """Returns how many columns of a table hold errors."""
        with open(self.folder / name, newline="") as file:
            columns = next(csv.reader(file))
        errors = [i for i, column in enumerate(columns) if "error" in column and column != "error"]
        for i in errors:
            self.assertEqual(columns[i], error_name(columns[i - 1]))
        return len(errors)

    def test_trace(self):
        heat = 'flux = { bins = [12, 10] }\nheat = { emittance = 0.1, temperature_K = 600 }'
        (self.folder / "dish.toml").write_text(program.DISH.replace("flux = { bins = [12, 10] }", heat))
        code, out, err = self.run_program("trace", "dish.toml", *QUICK)
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(json_faults(json.loads(out)), [])
        self.assertGreater(out.count('"standard_error"'), 20)
        self.assertGreater(self.check_file("dish.h5"), 18)
        self.assertEqual(self.run_program("export", "dish.h5", "--to", "csv")[0], 0)
        self.assertEqual(self.check_table("dish.csv"), 1)

    def test_steer(self):
        (self.folder / "bowl.toml").write_text(steer_test.BOWL)
        code, out, err = self.run_program(
            "steer", "bowl.toml", *QUICK, "--search-samples", "2^10", "--tolerance", "--realisations", "3",
            "--draw", "pointing=1mrad", "--draw", "focus=0.5%",
        )  # fmt: skip
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(json_faults(json.loads(out)), [])
        self.assertGreater(self.check_file("bowl-steer.h5"), 30)
        self.assertGreater(self.check_table("bowl-steer.csv"), 15)
        self.assertEqual(self.check_table("bowl-steer-tolerance.csv"), 2)
        self.assertEqual(self.check_table("bowl-steer-realisations.csv"), 2)

    def test_design(self):
        code, out, err = self.run_program(
            "steer", "dish.toml", *QUICK, "--search-samples", "2^10", "--free",
            "receiver.absorber.mount.position_m.z=4.9..5.1", "--evaluations", "3",
        )  # fmt: skip
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(json_faults(json.loads(out)), [])
        # Budget, closure, efficiency and intercept factor, six numbers of the receiver, and three of the design.
        self.assertEqual(self.check_file("dish-steer.h5"), 13)

    def test_faults_are_seen(self):
        self.assertEqual(error_name("flux_W_m2"), "flux_standard_error_W_m2")
        self.assertEqual(error_name("intercept_factor"), "intercept_factor_standard_error")
        self.assertEqual(json_faults({"a": [{"power_W": 1, "power_standard_error_W": 2}]}), [".a[0].power_standard_error_W"])
        self.assertEqual(json_faults({"a": {"standard_error": 2}}), [".a"])


if __name__ == "__main__":
    program.main()
