"""catoptra report and look: what they write, and what they say when they can't."""

import base64
import json
import os
import re
import subprocess
import sys
import zlib

import h5py
import numpy

import program
from program import ProgramTest

RESULTS = "  allowed: what catoptra trace or steer wrote\n"


def data_of(page):
    """What the page's script reads: the JSON between the tags."""
    text = page.read_text(encoding="utf-8")
    return json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.S)[1])


def values(entry):
    """A dataset of the page as numbers, text or lists of them."""
    found = entry["values"]
    if isinstance(found, dict):
        found = numpy.frombuffer(base64.b64decode(found["f64"]), "<f8")
    return found


class Report(ProgramTest):
    def setUp(self):
        super().setUp()
        code, _, err = self.run_program("trace", "dish.toml", "--samples", "20000", "-q")
        self.assertEqual((code, err), (0, ""))

    def refused(self, words, message, code=2):
        before = self.files()
        got, out, err = self.run_program(*words)
        self.assertEqual(err, message)
        self.assertEqual(out, "")
        self.assertEqual(got, code)
        self.assertEqual(self.files(), before)

    def test_every_number_of_the_file_is_on_the_page(self):
        code, out, err = self.run_program("report", "dish.h5")
        self.assertEqual((code, err), (0, ""))
        self.assertRegex(out, r"\Apage: dish\.html \(\d\.\d MB\)\n\Z")
        sets = data_of(self.folder / "dish.html")["files"][0]["data"]["sets"]
        seen = []

        def check(name, item):
            if not isinstance(item, h5py.Dataset):
                return
            seen.append("/" + name)
            entry = sets["/" + name]
            self.assertEqual(entry["shape"], list(item.shape), name)
            self.assertEqual(entry["units"], item.attrs["units"], name)
            self.assertEqual(entry["long_name"], item.attrs["long_name"], name)
            mine = item[()]
            if h5py.check_string_dtype(item.dtype):
                mine = mine.decode() if isinstance(mine, bytes) else [text.decode() for text in mine]
                self.assertEqual(entry["values"], mine, name)
            else:
                theirs = numpy.array(values(entry), dtype=float)  # null becomes NaN
                numpy.testing.assert_array_equal(theirs.ravel(), numpy.asarray(mine, dtype=float).ravel(), name)
            if "ancillary_variables" in item.attrs:
                self.assertEqual(entry["ancillary_variables"], item.attrs["ancillary_variables"], name)
                self.assertIn(item.attrs["ancillary_variables"], item.parent)

        with h5py.File(self.folder / "dish.h5") as file:
            file.visititems(check)
            self.assertEqual(sorted(seen), sorted(sets))
            self.assertEqual(sets["/budget/power_W"]["over"], ["/budget/term"])
            attributes = data_of(self.folder / "dish.html")["files"][0]["data"]["attributes"]
            self.assertEqual(attributes["samples"], file.attrs["samples"])
            self.assertEqual(attributes["command"], file.attrs["command"])

    def test_text_can_not_end_the_script(self):
        scene = program.DISH.replace("Dish on", "</script><!-- Dish on")
        (self.folder / "odd.toml").write_text(scene)
        self.run_program("trace", "odd.toml", "--samples", "20000", "-q")
        code, _, _ = self.run_program("report", "odd.h5")
        self.assertEqual(code, 0)
        data = data_of(self.folder / "odd.html")
        self.assertEqual(data["files"][0]["data"]["sets"]["/scene/source"]["values"], scene)

    def test_the_page_replaces_an_older_one(self):
        (self.folder / "page.html").write_text("older")
        self.assertEqual(self.run_program("report", "dish.h5", "-o", "page.html")[0], 2)
        self.assertEqual((self.folder / "page.html").read_text(), "older")
        for words in [["--force"], []]:  # over its own page it needs no telling
            code, _, _ = self.run_program("report", "dish.h5", "-o", "page.html", *words)
            self.assertEqual(code, 0)
            self.assertEqual(data_of(self.folder / "page.html")["kind"], "result")

    def test_output_must_be_a_page(self):
        for name in ["dish.h5", "dish.toml", "page"]:
            with self.subTest(name):
                self.refused(
                    ["report", "dish.h5", "-o", name],
                    f"catoptra: error: --output is '{name}'\n  allowed: the name of a page, which ends in .html\n",
                )

    def test_no_such_result(self):
        self.refused(
            ["report", "missing.h5"], "catoptra: error: can't read 'missing.h5': No such file or directory\n"
        )

    def test_a_folder(self):
        self.refused(["report", "."], "catoptra: error: can't read '.': it is a folder\n")

    def test_a_scene(self):
        self.refused(
            ["report", "dish.toml"],
            "catoptra: error: 'dish.toml' is a scene, not a result\n  did you mean 'catoptra look dish.toml'?\n",
        )

    def test_not_hdf5(self):
        (self.folder / "noise.h5").write_bytes(b"\x00\x01" * 100)
        self.refused(["report", "noise.h5"], "catoptra: error: 'noise.h5' is not an HDF5 file\n" + RESULTS)

    def test_of_another_program(self):
        with h5py.File(self.folder / "other.h5", "w") as file:
            file["numbers"] = [1, 2]
        self.refused(
            ["report", "other.h5"],
            "catoptra: error: 'other.h5' was not written by Catoptra: it has no schema_version\n" + RESULTS,
        )

    def test_newer_schema(self):
        with h5py.File(self.folder / "dish.h5", "a") as file:
            file.attrs.modify("schema_version", 3)
            file.attrs.modify("generator", "Catoptra 9.0.0")
        code, _, err = self.run_program("report", "dish.h5")
        self.assertEqual(code, 2)
        self.assertRegex(
            err,
            r"\Acatoptra: error: 'dish\.h5' has the result schema 3, from Catoptra 9\.0\.0\n"
            r"  allowed: 1 to 2, which this program, Catoptra [\d.]+, reads\n\Z",
        )
        self.assertNotIn("dish.html", self.files())

    def test_damaged(self):
        image = bytearray((self.folder / "dish.h5").read_bytes())
        (self.folder / "half.h5").write_bytes(image[: len(image) // 2])
        code, out, err = self.run_program("report", "half.h5")
        self.assertEqual((code, out), (1, ""))
        self.assertRegex(err, r"\Acatoptra: error: 'half\.h5' is damaged: .+\n\Z")
        self.assertNotIn("half.html", self.files())

    def test_a_changed_byte_is_found_by_every_verb(self):
        image = bytearray((self.folder / "dish.h5").read_bytes())
        image[len(image) // 3] ^= 4
        (self.folder / "hurt.h5").write_bytes(image)
        words = "'hurt.h5' is damaged: its bytes are not those that were written (wrong checksum)\n"
        for verb in [["report", "hurt.h5"], ["compare", "dish.h5", "hurt.h5"], ["export", "hurt.h5", "--to", "csv"]]:
            self.refused(verb, "catoptra: error: " + words, code=1)

    def test_the_checksum_is_what_the_documentation_says(self):
        image = (self.folder / "dish.h5").read_bytes()
        words = f"\ncatoptra: the {len(image) - 64:14} bytes before have CRC-32 {zlib.crc32(image[:-64]):08x}\n"
        self.assertEqual(image[-64:].decode(), words)

    def test_a_file_that_another_program_changed_is_read_with_a_word(self):
        with h5py.File(self.folder / "dish.h5", "a") as file:
            file.attrs["note"] = "mine"
        code, _, err = self.run_program("report", "dish.h5")
        self.assertEqual(code, 0)
        self.assertEqual(
            err,
            "catoptra: 'dish.h5' has no checksum: an older version wrote it, or another program has\n"
            "  changed it; damage would not be noticed\n",
        )

    def test_a_pipe_is_refused(self):
        os.mkfifo(self.folder / "pipe.h5")
        self.refused(["report", "pipe.h5"], "catoptra: error: 'pipe.h5' is not a plain file\n" + RESULTS)

    def test_no_such_folder(self):
        self.refused(
            ["report", "dish.h5", "-o", "missing/page.html"],
            "catoptra: error: can't write 'missing/page.html': No such file or directory\n",
            code=1,
        )


class Look(ProgramTest):
    def test_a_scene_is_shown(self):
        code, out, err = self.run_program("look", "dish.toml", "--paths", "50")
        self.assertEqual((code, err), (0, ""))
        self.assertRegex(out, r"\Apage: dish\.html \(\d\.\d MB\)\n\Z")
        self.assertEqual(self.files(), ["dish.html", "dish.toml"])
        shown = data_of(self.folder / "dish.html")["files"][0]
        self.assertEqual([c["name"] for c in shown["view"]["components"]], ["dish", "absorber"])
        self.assertEqual(len(shown["view"]["paths"]["fate"]), 50)
        self.assertEqual(shown["data"]["source"], program.DISH)
        description, caution, foretold = self.run_program("check", "dish.toml")[1].partition("check the design.\n")
        self.assertEqual(shown["data"]["description"], description + caution)
        self.assertRegex(foretold, r"\A\ntrace with its default options: ")

    def test_mistakes_are_told_as_check_tells_them(self):
        (self.folder / "dish.toml").write_text(program.DISH.replace("reflectance", "reflectanse"))
        code, out, err = self.run_program("look", "dish.toml")
        self.assertEqual((code, out), (2, ""))
        self.assertEqual(err, self.run_program("check", "dish.toml")[2])
        self.assertEqual(self.files(), ["dish.toml"])

    def test_paths(self):
        self.assertEqual(
            self.run_program("look", "dish.toml", "--paths", "0"),
            (
                2,
                "",
                "catoptra: error: --paths is '0'\n"
                "  allowed: a whole number from 1 to 2048, written like 250000, 1e6, 2^20, 500k or 1.5M\n",
            ),
        )
        self.assertEqual(self.files(), ["dish.toml"])


def without_pages():
    """Is the program built without pages? It says so itself, in words that tell how to get them."""
    done = subprocess.run([program.PROGRAM, "report", "x.h5"], capture_output=True, text=True)
    if "built without its pages" not in done.stderr:
        return False
    assert done.returncode == 1 and "install Node.js 18 or newer with npm" in done.stderr, done.stderr
    return True


if __name__ == "__main__":
    program.PROGRAM = sys.argv[1]
    if without_pages():
        print("skipped: this program was built without its pages")
        sys.exit(1 if os.environ.get("CATOPTRA_PAGE_TESTS") == "required" else 77)
    program.main()
