"""One case of the book: its folder holds case.py (title, source, known, tolerance, fast, run) and scene templates;
reference.py, where there is one, may import the sciences' libraries and the book's own references alone."""

import ast
import importlib.util
import sys
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from . import verdict

SHARED_REFERENCES = ("reference", "dish", "trough")
REFERENCE_MAY_IMPORT = {"math", "numpy", "scipy", "astropy", "warnings"}
WORDS = ("title", "source", "known", "tolerance", "fast", "run")


@dataclass
class Row:
    case: str
    quantity: str
    expected: str
    got: float
    standard_error: float
    z: float  # nan: judged by a tolerance
    passed: bool
    source: str
    known: str
    run: str = ""
    counts: bool = False  # one of the independent z-scores of the whole book


@dataclass
class Case:
    folder: Path
    module: object
    engine: object
    samples_scale: float = 1
    rows: list = field(default_factory=list)
    figures: list = field(default_factory=list)  # (caption, matplotlib figure)
    notes: list = field(default_factory=list)
    seconds: float = 0
    seen: set = field(default_factory=set)

    @property
    def name(self):
        return self.folder.name

    def trace(self, label, scene="scene.toml", samples=1 << 18, seed=None, replicates=32, paths=0, **values):
        return self.engine.trace(f"{self.name} {label}", self.folder / scene, values, samples, seed, replicates, paths)

    def compare(self, quantity, expected, estimate, source=None, known=None, resolution=0.0):
        """A Monte Carlo number against the expected one. The first comparison of a run with a spread counts in the
        test of the whole book; the others of the same run depend on it. `resolution`: for counts along one dimension,
        which quasi-random points fill so evenly that most replicates hold the same whole number: the error that half a
        point per replicate makes, added in quadrature. Such numbers are not normal and do not count in the whole."""
        value, error, run, replicates = estimate
        error = float(np.hypot(error, resolution))
        # Where every replicate is alike, only rounding is left, of which a z-score tells nothing. The engine then gives
        # the error of one sample.
        tolerance = 1e-9 * max(1, abs(expected))
        if error == 0 or (not resolution and abs(value - expected) <= tolerance):
            self.check(quantity, expected, value, tolerance, source, known)
            return
        z = verdict.z_score(value, error, expected, replicates)
        counts = run not in self.seen and not resolution
        self.seen.add(run)
        passed = abs(z) < verdict.LIMIT
        self._row(quantity, f"{expected:.7g}", value, error, z, passed, source, known, run, counts)

    def check(self, quantity, expected, value, tolerance, source=None, known=None):
        """A number without chance in it, or one with a stated tolerance."""
        passed = bool(abs(value - expected) <= tolerance)
        self._row(quantity, f"{expected:.8g} ± {tolerance:.2g}", value, 0, np.nan, passed, source, known)

    def between(self, quantity, low, high, value, source=None, known=None):
        passed = bool(low <= value <= high)
        self._row(quantity, f"{low:.6g} to {high:.6g}", value, 0, np.nan, passed, source, known)

    def _row(self, quantity, expected, value, error, z, passed, source, known, run="", counts=False):
        source, known = source or self.module.source, known or self.module.known
        self.rows.append(
            Row(self.name, quantity, expected, float(value), float(error), z, passed, source, known, run, counts)
        )

    def figure(self, caption, **keys):
        from matplotlib.figure import Figure

        figure = Figure(figsize=keys.pop("size", (7, 4)), layout="constrained")
        self.figures.append((caption, figure))
        return figure.subplots(**keys)

    def note(self, text):
        self.notes.append(text)

    @property
    def passed(self):
        return bool(self.rows) and all(row.passed for row in self.rows)

    def execute(self):
        started = time.monotonic()
        try:
            self.module.run(self)
        except Exception as error:  # one broken case must not hide the others; it is red
            traceback.print_exc()
            self._row(
                f"broke off: {type(error).__name__}: {error}", "a whole case", np.nan, 0, np.nan, False, None, None
            )
        self.seconds = time.monotonic() - started


def load(folder):
    """The module of a case, its words checked, its reference shown to stand alone."""
    reference = folder / "reference.py"
    for name in ("reference", "case_module"):
        sys.modules.pop(name, None)
    for file in [reference, *(Path(__file__).parent / f"{name}.py" for name in SHARED_REFERENCES)]:
        if file.exists():
            refuse_engine(file)
    sys.path.insert(0, str(folder))
    try:
        spec = importlib.util.spec_from_file_location("case_module", folder / "case.py")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    finally:
        sys.path.remove(str(folder))
    missing = [word for word in WORDS if not hasattr(module, word)]
    if missing:
        raise SystemExit(f"{folder.name}/case.py lacks {', '.join(missing)}")
    return module


def refuse_engine(path):
    shared = {f"book.{name}" for name in SHARED_REFERENCES}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom) and node.module == "book":
            names = [f"book.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [f"book.{node.module}" if node.level else node.module]
        for name in names:
            if name not in shared and name.split(".")[0] not in REFERENCE_MAY_IMPORT:
                raise SystemExit(f"{path.parent.name}/{path.name} imports {name}: a reference stands on its own")
