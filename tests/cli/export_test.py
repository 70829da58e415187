"""catoptra export, held against readers that are not ours: csv, h5py, VTK (for VTKHDF and glTF), xml and matplotlib; and
what it says when it can't."""

import csv
import json
import math
import pathlib
import re
import struct
import xml.etree.ElementTree

import h5py
import matplotlib
import matplotlib.image
import numpy
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkIOGeometry import vtkGLTFReader
from vtkmodules.vtkIOHDF import vtkHDFReader

import program
from program import ProgramTest

PROJECT = pathlib.Path(__file__).resolve().parents[2]
RESULTS = "  allowed: what catoptra trace or steer wrote\n"

# A second receiver, round: what misses the first one goes on to it; and a mirror whose places stand in a file.
TUBE = """
[[receiver]]
name = "tube"
shape = { kind = "cylinder", radius_m = 0.5, length_m = 1.2 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 5.7] }
flux = { bins = [8, 6] }

[[primary]]
name = "row"
shape = { kind = "sphere", radius_m = 20 }
aperture = { kind = "rectangle", width_m = 1, length_m = 1 }
finish = "silver"
mount = { kind = "heliostat", aim = "tube" }
array = { kind = "csv", file = "row.csv" }
"""


def triangles_m2(points, corners):
    a, b, c = (points[corners[:, k]] for k in range(3))
    return numpy.linalg.norm(numpy.cross(b - a, c - a), axis=1) / 2


class Glb:
    """A binary glTF file, taken apart as section 4.4 of its specification says."""

    sizes = {5121: ("<u1", 1), 5123: ("<u2", 2), 5125: ("<u4", 4), 5126: ("<f4", 4)}
    widths = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}

    def __init__(self, content):
        magic, version, length = struct.unpack_from("<4sII", content)
        assert (magic, version, length) == (b"glTF", 2, len(content))
        text_length, text_kind = struct.unpack_from("<I4s", content, 12)
        assert text_kind == b"JSON" and text_length % 4 == 0
        self.json = json.loads(content[20 : 20 + text_length])
        binary_length, binary_kind = struct.unpack_from("<I4s", content, 20 + text_length)
        assert binary_kind == b"BIN\0" and binary_length % 4 == 0
        self.binary = content[28 + text_length :]
        assert len(self.binary) == binary_length

    def __call__(self, accessor):
        found = self.json["accessors"][accessor]
        view = self.json["bufferViews"][found["bufferView"]]
        kind, size = self.sizes[found["componentType"]]
        count = found["count"] * self.widths[found["type"]]
        assert view["byteOffset"] % 4 == 0 and count * size <= view["byteLength"]
        assert view["byteOffset"] + view["byteLength"] <= self.json["buffers"][0]["byteLength"]
        return numpy.frombuffer(self.binary, kind, count, view["byteOffset"]).reshape(found["count"], -1)


class Export(ProgramTest):
    def setUp(self):
        super().setUp()
        self.succeed("trace", "dish.toml", "--samples", "2^16", "-q")

    def succeed(self, *words, **more):
        code, out, err = self.run_program(*words, **more)
        self.assertEqual((code, err), (0, ""))
        return out

    def trace_two(self):
        (self.folder / "row.csv").write_text("x_m,y_m,z_m\n8,0,0\n0,8,0\n-8,0,0\n")
        (self.folder / "two.toml").write_text(program.DISH + TUBE)
        self.succeed("trace", "two.toml", "--samples", "2^16", "-q")

    def steer(self, *words):
        bowl = str(PROJECT / "scenes" / "bowl.toml")
        self.succeed("steer", bowl, "--samples", "2^12", "--search-samples", "2^9", "-q", *words)

    # Tables

    def table(self, name):
        with open(self.folder / name, newline="") as file:
            rows = list(csv.reader(file))
        number = lambda cell: float(cell) if cell else math.nan
        return rows[0], numpy.array([[number(cell) for cell in row] for row in rows[1:]])

    def test_csv_of_a_flat_receiver(self):
        self.assertEqual(self.succeed("export", "dish.h5", "--to", "csv"), "table: dish.csv\n")
        names, rows = self.table("dish.csv")
        self.assertEqual(names, ["x_m", "y_m", "flux_W_m2", "flux_standard_error_W_m2", "bin_area_m2"])
        with h5py.File(self.folder / "dish.h5") as file:
            group = file["receivers/absorber"]
            x, y = numpy.meshgrid(group["x_m"], group["y_m"], indexing="ij")
            for column, expected in zip(rows.T[:2], [x, y]):
                numpy.testing.assert_allclose(column, expected.ravel(), rtol=0, atol=1e-15)
            for column, name in zip(rows.T[2:], names[2:]):
                numpy.testing.assert_array_equal(column, group[name][:].ravel())

    def test_csv_of_two_receivers(self):
        self.trace_two()
        out = self.succeed("export", "two.h5", "--to", "csv")
        self.assertEqual(out, "table: two-absorber.csv\ntable: two-tube.csv\n")
        names, rows = self.table("two-tube.csv")
        self.assertEqual(names[:3], ["azimuth_rad", "around_m", "height_m"])
        numpy.testing.assert_allclose(rows[:, 1], 0.5 * rows[:, 0], rtol=1e-15)
        self.assertAlmostEqual(rows[:, -1].sum(), 2 * math.pi * 0.5 * 1.2, delta=1e-9)

    def test_csv_of_a_schedule_is_that_of_steer(self):
        for words in [["--day", "2026-06-21", "--every", "5h"], []]:
            with self.subTest(words):
                self.steer(*words)
                self.assertEqual(self.succeed("export", "bowl-steer.h5", "--to", "csv", "-o", "x.csv"), "table: x.csv\n")
                self.assertEqual((self.folder / "x.csv").read_text(), (self.folder / "bowl-steer.csv").read_text())

    def test_csv_of_a_schedule_has_the_heat_that_steer_found(self):
        trough = pathlib.Path(__file__).resolve().parents[2] / "scenes" / "trough-glass.toml"
        self.succeed("steer", str(trough), "--day", "2026-06-21", "--every", "4h", "-n", "2^12", "-q", "-o", "tg.h5")
        self.succeed("export", "tg.h5", "--to", "csv", "-o", "x.csv")
        steered = (self.folder / "tg.csv").read_text()
        self.assertIn("tube.heat.useful_heat_W", steered)
        self.assertEqual((self.folder / "x.csv").read_text(), steered)

    # VTKHDF

    def test_vtk_reads_what_was_written(self):
        self.trace_two()
        (self.folder / "row.csv").unlink()  # the result keeps it
        self.assertEqual(self.succeed("export", "two.h5", "--to", "vtk"), "scene: two.vtkhdf\n")
        reader = vtkHDFReader()
        path = str(self.folder / "two.vtkhdf")
        self.assertTrue(reader.CanReadFile(path))
        reader.SetFileName(path)
        reader.Update()
        grid = reader.GetOutput()
        cells = {
            grid.GetCellData().GetArrayName(i): vtk_to_numpy(grid.GetCellData().GetArray(i))
            for i in range(grid.GetCellData().GetNumberOfArrays())
        }
        points = vtk_to_numpy(grid.GetPoints().GetData())
        types = vtk_to_numpy(grid.GetCellTypesArray())
        corners = vtk_to_numpy(grid.GetCells().GetConnectivityArray())
        offsets = vtk_to_numpy(grid.GetCells().GetOffsetsArray())
        with h5py.File(path) as file:
            names = file["VTKHDF/CellData/component"].attrs["names"].decode().split("\n")
            roles = file["VTKHDF/CellData/role"].attrs["flag_meanings"].decode().split()
            fates = file["VTKHDF/CellData/fate"].attrs["flag_meanings"].decode().split()
        surface = types == 5
        triangles = corners[: 3 * surface.sum()].reshape(-1, 3)
        areas_m2 = triangles_m2(points, triangles)
        with h5py.File(self.folder / "two.h5") as file:
            for receiver in ["absorber", "tube"]:
                own = cells["component"][surface] == names.index(receiver)
                self.assertEqual({roles[role] for role in cells["role"][surface][own]}, {"receiver"})
                group = file["receivers"][receiver]
                for name in ["flux_W_m2", "flux_standard_error_W_m2"]:
                    held = group[name][:][group["bin_area_m2"][:] > 0]
                    self.assertEqual(set(cells[name][surface][own]), set(held))
                # Chords of 7.5 degrees or less lose h^2/6 of a circle's area, 0.3 %.
                expected_W = numpy.nansum(group["flux_W_m2"][:] * group["bin_area_m2"][:])
                found_W = (cells["flux_W_m2"][surface][own] * areas_m2[own]).sum()
                self.assertLess(abs(found_W / expected_W - 1), 3e-3)
            # Three copies, where the file put them, turned so that each looks between the sun and the tube.
            row = cells["component"][surface] == names.index("row")
            middles = points[triangles[row]].mean(axis=1)
            for place in [(8, 0, 0), (0, 8, 0), (-8, 0, 0)]:
                self.assertLess(numpy.linalg.norm(middles - place, axis=1).min(), 0.3)
            self.assertAlmostEqual(areas_m2[row].sum(), 3, delta=2e-3)
            # Paths: the same points with the same fates.
            ray = types == 4
            self.assertTrue((ray | surface).all())
            self.assertEqual(ray.sum(), len(file["paths/fate"]))
            numpy.testing.assert_array_equal(points[corners[3 * surface.sum() :]], file["paths/vertices_m"][:])
            numpy.testing.assert_array_equal(numpy.diff(offsets)[ray], file["paths/vertex_count"][:])
            numpy.testing.assert_array_equal(cells["fate"][ray], file["paths/fate"][:])
            self.assertEqual(fates, file["paths/fate"].attrs["flag_meanings"].split())
        self.assertTrue((cells["fate"][surface] == -1).all())
        self.assertTrue(numpy.isnan(cells["flux_W_m2"][cells["role"] != roles.index("receiver")]).all())

    def test_vtk_of_a_schedule_has_the_pose(self):
        self.steer("--day", "2026-06-21", "--every", "2h")
        found = {}
        with h5py.File(self.folder / "bowl-steer.h5") as file:
            positions = file["poses/pilot/position_m"][:]
            best = int(file["budget/power_W"][:, -1].argmax())
        for sun in ["", *(str(i + 1) for i in range(len(positions)))]:
            out = self.succeed("export", "bowl-steer.h5", "--to", "vtk", *(["--sun", sun] if sun else []))
            row = int(sun or best + 1) - 1
            self.assertIn(f"\nsun {row + 1} of {len(positions)}, 2026-06-21T", out)
            with h5py.File(self.folder / "bowl-steer.vtkhdf") as file:
                found[sun] = file["VTKHDF/Points"][:]
            # Its vertex stands in the middle of its mesh.
            self.assertLess(numpy.linalg.norm(found[sun] - positions[row], axis=1).min(), 1e-9)
        numpy.testing.assert_array_equal(found[""], found[str(best + 1)])
        self.assertFalse(numpy.array_equal(found["1"], found[str(best + 1)]))

    # glTF

    def test_gltf_is_sound_and_painted(self):
        self.trace_two()
        self.assertEqual(self.succeed("export", "two.h5", "--to", "gltf"), "scene: two.glb\n")
        glb = Glb((self.folder / "two.glb").read_bytes())
        with h5py.File(self.folder / "two.h5") as file:
            flux = {name: file["receivers"][name]["flux_W_m2"][:] for name in ["absorber", "tube"]}
            paths = file["paths/vertex_count"][:]
        largest = max(numpy.nanmax(values) for values in flux.values())
        lines = 0
        for mesh in glb.json["meshes"]:
            (primitive,) = mesh["primitives"]
            accessors = primitive["attributes"]
            positions = glb(accessors["POSITION"])
            described = glb.json["accessors"][accessors["POSITION"]]
            numpy.testing.assert_array_equal(positions.min(axis=0), numpy.float32(described["min"]))
            numpy.testing.assert_array_equal(positions.max(axis=0), numpy.float32(described["max"]))
            self.assertLess(primitive["material"], len(glb.json["materials"]))
            if "NORMAL" in accessors:
                lengths = numpy.linalg.norm(glb(accessors["NORMAL"]), axis=1)
                self.assertLess(abs(lengths - 1).max(), 1e-6)
            if "indices" in primitive:
                self.assertLess(glb(primitive["indices"]).max(), len(positions))
            if mesh["name"].startswith("rays: "):
                self.assertEqual(primitive["mode"], 1)
                lines += len(positions) // 2
            self.assertEqual("COLOR_0" in accessors, mesh["name"] in flux)
            if mesh["name"] not in flux:
                continue
            self.assertEqual(mesh["extras"]["largest_flux_W_m2"], largest)
            # The brightest corner has the colour that matplotlib's map gives its share, sRGB by amounts of light.
            share = numpy.nanmax(flux[mesh["name"]]) / largest
            srgb = numpy.array(matplotlib.colormaps["inferno"](share)[:3])
            light = numpy.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
            colours = glb(accessors["COLOR_0"])[:, :3] / 65535
            brightest = colours[colours.sum(axis=1).argmax()]
            self.assertLess(abs(brightest - light).max(), 0.05)
        self.assertEqual(lines, (paths - 1).sum())
        nodes = [node for node in glb.json["nodes"] if node["name"] == "row"]
        self.assertEqual(len(nodes), 3)
        self.assertEqual(len({node["mesh"] for node in nodes}), 1)
        turned = numpy.array(nodes[0]["matrix"]).reshape(4, 4)[:3, :3]
        numpy.testing.assert_allclose(turned @ turned.T, numpy.eye(3), atol=1e-12)
        self.assertAlmostEqual(numpy.linalg.det(turned), 1)

        reader = vtkGLTFReader()
        reader.SetFileName(str(self.folder / "two.glb"))
        reader.Update()
        corners = [glb.json["meshes"][node["mesh"]]["primitives"][0] for node in glb.json["nodes"] if "mesh" in node]
        expected = sum(glb.json["accessors"][corner["attributes"]["POSITION"]]["count"] for corner in corners)
        self.assertEqual(reader.GetOutput().GetNumberOfPoints(), expected)
        # glTF's y is the scene's up: the tube's top, 5.7 m and half of 1.2 m, is the highest of what is no ray.
        bounds = [0.0] * 6
        reader.GetOutput().GetBounds(bounds)
        self.assertGreaterEqual(bounds[3], 6.3)

    # Figures

    def test_figures_for_papers(self):
        self.trace_two()
        names = ["budget", "flux-absorber", "intercept-absorber", "flux-tube", "intercept-tube"]
        for ending in ["png", "svg", "pdf"]:
            with self.subTest(ending):
                out = self.succeed("export", "two.h5", "--to", ending)
                self.assertEqual(out, "".join(f"figure: two-{name}.{ending}\n" for name in names))
        for name in names:
            picture = matplotlib.image.imread(self.folder / f"two-{name}.png")
            self.assertGreaterEqual(min(picture.shape[:2]), 700)  # 300 dots an inch
            self.assertGreater(picture[..., :3].std(), 0.05)  # not blank
            svg = xml.etree.ElementTree.parse(self.folder / f"two-{name}.svg")
            kinds = [element.tag.rsplit("}")[-1] for element in svg.iter()]
            self.assertGreater(kinds.count("path"), 20)
            self.assertEqual(kinds.count("text"), 0)  # letters are outlines: no font is asked of the reader
            pdf = (self.folder / f"two-{name}.pdf").read_bytes()
            self.assertIn(b"/FontFile2", pdf)  # TrueType inside
            self.assertNotIn(b"/Type3", pdf)

    def test_figures_are_the_same_each_time(self):
        found = []
        for name in ["a.svg", "b.svg"]:
            self.succeed("export", "dish.h5", "--to", "svg", "-o", name)
            found.append((self.folder / f"{name[0]}-budget.svg").read_bytes())
        self.assertEqual(*found)

    def test_figures_of_a_schedule(self):
        self.steer("--day", "2026-06-21", "--every", "5h", "--tolerance")
        out = self.succeed("export", "bowl-steer.h5", "--to", "svg")
        self.assertEqual(out, "".join(f"figure: bowl-steer-{name}.svg\n" for name in ["day", "budget", "tolerance"]))
        # Each error is drawn once, and no panel holds curves of which one reaches more than three times as far.
        reach = {}
        with h5py.File(self.folder / "bowl-steer.h5") as file:
            for component, kinds in file["tolerance"].items():
                for kind, group in kinds.items() if isinstance(kinds, h5py.Group) else ():
                    (size,) = (name for name in group if name.startswith("error_") and group[name].attrs.get("CLASS") == b"DIMENSION_SCALE")
                    reach[f"{component}: {kind.replace('_', ' ')}"] = abs(group[size][:]).max()
        svg = (self.folder / "bowl-steer-tolerance.svg").read_text(encoding="utf-8")
        panels = [re.findall(r"<!-- ([^>]+: [^>]+) -->", part) for part in svg.split('<g id="axes_')[1:]]
        named = [[text for text in panel if text in reach] for panel in panels]
        self.assertEqual(sorted(sum(named, [])), sorted(reach))
        self.assertGreater(max(reach.values()), 3 * min(reach.values()))
        for panel in named:
            self.assertLessEqual(max(reach[text] for text in panel), 3.0001 * min(reach[text] for text in panel))
        self.steer("--force")
        out = self.succeed("export", "bowl-steer.h5", "--to", "svg", "-o", "one.svg")
        self.assertEqual(out, "figure: one-budget.svg\n")

    def test_without_matplotlib(self):
        hidden = self.folder / "hidden" / "matplotlib"
        hidden.mkdir(parents=True)
        (hidden / "__init__.py").write_text("raise ImportError('hidden by the test')\n")
        before = self.files()
        code, out, err = self.run_program(
            "export", "dish.h5", "--to", "png", environment={"PYTHONPATH": str(hidden.parent)}
        )
        self.assertEqual((code, out), (1, ""))
        self.assertEqual(
            err,
            "catoptra: error: figures need matplotlib, which /usr/bin/python3 does not find (hidden by the test)\n"
            "  on Debian: apt install python3-matplotlib\n",
        )
        self.assertEqual(self.files(), before)

    # Refusals

    def refused(self, words, message, code=2):
        before = self.files()
        got, out, err = self.run_program("export", *words)
        self.assertEqual(err, message)
        self.assertEqual((got, out), (code, ""))
        self.assertEqual(self.files(), before)

    def test_what_is_asked_for(self):
        self.refused(
            ["dish.h5"],
            "catoptra: error: --to is missing\n  allowed: --to csv, --to vtk, --to gltf, --to png, --to svg, --to pdf, --to toml\n",
        )
        self.refused(
            ["dish.h5", "--to", "gtlf"],
            "catoptra: error: unknown word for --to 'gtlf'\n  allowed: csv, vtk, gltf, png, svg, pdf, toml\n  did you mean 'gltf'?\n",
        )
        self.refused(
            ["dish.h5", "--to", "vtk", "-o", "dish.vtu"],
            "catoptra: error: --output is 'dish.vtu'\n"
            "  allowed: a name that ends with .vtkhdf, as --to vtk asks\n",
        )
        self.refused(
            ["dish.h5", "--to", "vtk", "--sun", "1"],
            "catoptra: error: --sun chooses one of a schedule's suns for --to vtk and --to gltf; here there is none to"
            " choose\n",
        )

    def test_what_is_no_result(self):
        self.refused(["no.h5", "--to", "csv"], "catoptra: error: can't read 'no.h5': No such file or directory\n")
        (self.folder / "x.h5").write_text("no HDF5")
        self.refused(["x.h5", "--to", "csv"], f"catoptra: error: 'x.h5' is not an HDF5 file\n{RESULTS}")

    def test_where_it_can_not_write(self):
        for ending in ["csv", "vtkhdf", "glb", "png"]:
            with self.subTest(ending):
                word = {"vtkhdf": "vtk", "glb": "gltf"}.get(ending, ending)
                before = self.files()
                code, out, err = self.run_program("export", "dish.h5", "--to", word, "-o", f"no/x.{ending}")
                self.assertEqual((code, out), (1, ""))
                self.assertIn(f"no/x.{ending}", err)
                self.assertEqual(self.files(), before)


if __name__ == "__main__":
    program.main()
