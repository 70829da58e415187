"""Runs `catoptra trace` on a filled-in scene template and reads what it wrote."""

import json
import subprocess
import zlib
from pathlib import Path
from string import Template
from typing import NamedTuple

import h5py
import numpy as np


class Estimate(NamedTuple):
    value: float
    standard_error: float
    run: str  # which run of the engine it comes from: numbers of one run are not independent of each other
    replicates: int


class Run:
    """One result of the engine."""

    def __init__(self, label, file, numbers):
        self.label, self.file, self.numbers = label, file, numbers

    def _of(self, entry):
        return Estimate(entry["value"], entry["standard_error"], self.label, self.numbers["replicates"])

    def receiver(self, name, quantity):
        return self._of(self.numbers["receivers"][name][quantity])

    def whole(self, quantity):
        return self._of(self.numbers[quantity])

    def budget(self, term):
        return self._of(self.numbers["budget"][term]["power_W"])

    def array(self, path):
        with h5py.File(self.file) as file:
            return np.array(file[path])

    def estimates(self, values, errors):
        return [
            Estimate(float(v), float(e), self.label, self.numbers["replicates"])
            for v, e in zip(np.ravel(values), np.ravel(errors))
        ]

    def flux(self, receiver):
        """Flux in units of the DNI, its standard error, bin areas, and the edges of both axes."""
        with h5py.File(self.file) as file:
            group = file[f"receivers/{receiver}"]
            dni = file["sun/dni_W_m2"][()]
            flux = group["flux_W_m2"]
            edges = [group[flux.dims[k][0].attrs["edges"]][:] for k in (0, 1)]
            error = group["flux_standard_error_W_m2"][:]
            return flux[:] / dni, error / dni, group["bin_area_m2"][:], edges[0], edges[1]

    def enclosed(self, receiver):
        """Radii, m, and the share of the arriving power within each, as estimates."""
        radius = self.array(f"receivers/{receiver}/enclosed/radius_m")
        share = self.array(f"receivers/{receiver}/enclosed/fraction")
        error = self.array(f"receivers/{receiver}/enclosed/fraction_standard_error")
        return radius, self.estimates(share, error)


class Engine:
    def __init__(self, program, folder, dice=0):
        self.dice = dice  # another number, other seeds throughout
        self.program, self.folder, self.runs = Path(program).resolve(), Path(folder), 0

    def trace(self, label, template, values, samples, seed=None, replicates=32, paths=0):
        """Fills $words of the template, traces it. Each label has its own seed: quasi-random runs of one seed would
        err together."""
        self.runs += 1
        stem = "".join(c if c.isalnum() else "-" for c in label)
        scene = self.folder / f"{stem}.toml"
        result = self.folder / f"{stem}.h5"
        scene.write_text(Template(Path(template).read_text(encoding="utf-8")).substitute(values), encoding="utf-8")
        if seed is None:
            seed = zlib.crc32(label.encode())
        seed += self.dice << 32
        command = [self.program, "trace", scene, "-o", result, "--json", "--quiet", "--samples", samples]
        command += ["--seed", seed, "--replicates", replicates, "--paths", paths]
        done = subprocess.run([str(word) for word in command], capture_output=True, text=True)
        if done.returncode != 0:
            raise RuntimeError(f"catoptra ended with {done.returncode} on {scene.name}:\n{done.stderr.strip()}")
        return Run(label, result, json.loads(done.stdout))
