"""Opens a written file with h5py, xarray and h5dump, without any of our code, and holds its numbers against the JSON;
checks that any number of threads gives the same bits."""

import json
import subprocess

import h5py
import numpy
import xarray

import program
from program import ProgramTest


def numbers(path):
    """Every numeric dataset and numeric attribute of a file as bytes, by name."""
    found = {}

    def add(name, item):
        for key, value in item.attrs.items():
            value = numpy.asarray(value)
            if value.dtype.kind in "iuf" and key != "wall_time_s":
                found[f"{name}@{key}"] = value.tobytes()
        if isinstance(item, h5py.Dataset) and item.dtype.kind in "iuf":
            found[name] = item[()].tobytes()

    with h5py.File(path) as file:
        add("/", file)
        file.visititems(add)
    return found


class OpenResult(ProgramTest):
    def trace(self, *words):
        code, out, err = self.run_program("trace", "dish.toml", "--samples", "2^16", "--json", *words)
        self.assertEqual((code, err), (0, ""))
        return json.loads(out)

    def test_h5py_holds_the_numbers_of_the_json(self):
        found = self.trace()
        with h5py.File(self.folder / "dish.h5") as file:
            self.assertEqual(file["scene/source"][()].decode(), program.DISH)
            self.assertEqual(file.attrs["samples"], found["samples"])
            self.assertEqual(file.attrs["command"], "catoptra trace dish.toml --samples 2^16 --json")
            for term, power, error in zip(
                file["budget/term"].asstr()[:], file["budget/power_W"], file["budget/power_standard_error_W"]
            ):
                self.assertEqual(found["budget"][term], {"power_W": {"value": power, "standard_error": error}})
            # Each term is the sum of its parts; the JSON leaves out those that are 0.
            parts_W = file["budget/power_by_component_W"][:]
            numpy.testing.assert_allclose(parts_W.sum(axis=0), file["budget/power_W"][:], rtol=1e-12, atol=1e-9)
            for c, component in enumerate(file["budget/component"].asstr()[:]):
                for t, term in enumerate(file["budget/term"].asstr()[:]):
                    told = found["budget_by_component"][component].get(term, {"power_W": {"value": 0}})["power_W"]
                    self.assertEqual(told["value"], parts_W[c, t])
            for name in ["intercept_factor", "absorbed_power_W", "peak_concentration", "mean_concentration"]:
                group = file["receivers/absorber"]
                self.assertEqual(group[name][()], found["receivers"]["absorber"][name]["value"])
                error = group[group[name].attrs["ancillary_variables"]][()]
                self.assertEqual(error, found["receivers"]["absorber"][name]["standard_error"])
            # Irradiance times area, summed, is the map's power; its mean over the front is what that area makes of it.
            receiver = file["receivers/absorber"]
            map_W = numpy.nansum(receiver["flux_W_m2"][:] * receiver["bin_area_m2"][:])
            mean_W_m2 = receiver["mean_concentration"][()] * file["sun/dni_W_m2"][()]
            self.assertAlmostEqual(map_W / (mean_W_m2 * receiver["area_m2"][()]), 1, delta=1e-9)
            # The map counts light that comes back, too: at most the 5 % that the absorber sends away.
            first_arrivals_W = receiver["arriving_power_W"][()]
            self.assertGreaterEqual(map_W / first_arrivals_W, 1 - 1e-9)
            self.assertLessEqual(map_W / first_arrivals_W, 1 / 0.95)
            # What the replicates say apart must be what they say together.
            together = file["budget/power_by_replicate_W"][:].mean(axis=0)
            numpy.testing.assert_allclose(together, file["budget/power_W"][:], rtol=1e-12, atol=1e-9)
            # Standard error of the mean from the spread: s / sqrt(R); without a spread that of one sample, or 0 where the
            # number is exact.
            spread = file["budget/power_by_replicate_W"][:].std(axis=0, ddof=1) / numpy.sqrt(file.attrs["replicates"])
            errors = file["budget/power_standard_error_W"][:]
            with_spread = spread > 1e-9
            self.assertGreater(with_spread.sum(), 3)
            numpy.testing.assert_allclose(errors[with_spread], spread[with_spread], rtol=1e-6)
            one_sample_W = file["sun/dni_W_m2"][()] * file["aperture_area_m2"][()] / file.attrs["samples"]
            for error in errors[~with_spread]:
                self.assertTrue(error == 0 or abs(error / one_sample_W - 1) < 1e-6, (error, one_sample_W))
            self.assertGreater(errors[~with_spread].max(), 0)

    def test_xarray_labels_every_axis(self):
        self.trace()
        for engine in ["h5netcdf", "netcdf4"]:
            with self.subTest(engine):
                opened = {}
                for group in ["/", "scene", "sun", "budget", "receivers/absorber", "receivers/absorber/enclosed", "paths"]:
                    with xarray.open_dataset(self.folder / "dish.h5", group=group, engine=engine) as dataset:
                        opened[group] = dataset.load()
                receiver = opened["receivers/absorber"]
                self.assertEqual(receiver["flux_W_m2"].dims, ("x_m", "y_m"))
                self.assertEqual(receiver["flux_W_m2"].attrs["units"], "W m-2")
                self.assertEqual(receiver["flux_W_m2"].attrs["ancillary_variables"], "flux_standard_error_W_m2")
                self.assertEqual(receiver["x_edges_m"].shape, (13,))
                numpy.testing.assert_allclose(
                    receiver["x_m"], (receiver["x_edges_m"][:-1].values + receiver["x_edges_m"][1:].values) / 2
                )
                self.assertEqual(opened["budget"]["power_W"].dims, ("term",))
                self.assertEqual(float(opened["budget"]["power_W"].sel(term="cover_loss")), 0)
                self.assertEqual(opened["budget"]["power_by_replicate_W"].dims, ("replicate", "term"))
                parts = opened["budget"]["power_by_component_W"]
                self.assertEqual(parts.dims, ("component", "term"))
                self.assertGreater(float(parts.sel(component="absorber", term="absorbed")), 0)
                self.assertEqual(opened["receivers/absorber/enclosed"]["fraction"].dims, ("radius_m",))
                self.assertEqual(opened["paths"]["vertices_m"].dims, ("vertex", "axis"))
                self.assertEqual(int(opened["paths"]["vertex_count"].sum()), opened["paths"].sizes["vertex"])
                for group in opened.values():
                    for variable in group.variables.values():
                        self.assertTrue(variable.attrs["long_name"])
                        self.assertTrue(variable.attrs["units"])

    def test_h5dump_reads_every_dataset(self):
        self.trace()
        done = subprocess.run(
            ["h5dump", str(self.folder / "dish.h5")], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertIn('DATASET "flux_W_m2"', done.stdout)

    def test_threads_give_the_same_bits(self):
        found = {}
        for threads in ["1", "2", "7"]:
            self.trace("--threads", threads, "-o", f"{threads}.h5")
            found[threads] = numbers(self.folder / f"{threads}.h5")
        self.assertGreater(len(found["1"]), 40)
        self.assertEqual(found["1"], found["2"])
        self.assertEqual(found["1"], found["7"])
        self.trace("--seed", "2", "-o", "seed.h5")  # the comparison sees a difference where there is one
        self.assertNotEqual(found["1"], numbers(self.folder / "seed.h5"))


if __name__ == "__main__":
    program.main()
