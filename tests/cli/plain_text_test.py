"""Text that is not plain: control characters in a scene's texts reach no terminal and no picture as such, dollars are
dollars."""

import json
import os
import pathlib
import subprocess
import xml.etree.ElementTree

import program
from program import ProgramTest

# ESC ] 0 ; … BEL sets a terminal's title (ECMA-48, 8.3.89); U+009B is CSI, which begins a control sequence (8.3.16).
SLY = "Dish \\u001b]0;sly\\u0007 \\u009b31m \\u007f"
FIGURES = pathlib.Path(__file__).resolve().parents[2] / "tools" / "program" / "figures.py"


class PlainText(ProgramTest):
    def controls(self, text):
        return [c for c in text if (ord(c) < 0x20 and c not in "\n\t") or 0x7F <= ord(c) < 0xA0]

    def test_terminal(self):
        (self.folder / "dish.toml").write_text(
            program.DISH.replace("Dish on the plateau test field (invented)", SLY).replace('"black"', '"bla\\u009bck"')
            .replace("[finish.black]", '[finish."bla\\u009bck"]')
        )
        for verb in ["check", "trace", "look"]:
            with self.subTest(verb):
                code, out, err = self.run_program(verb, "dish.toml")
                self.assertEqual(code, 2)
                self.assertIn("a control character", err)
                self.assertEqual(self.controls(out + err), [], out + err)

    def test_names_of_files(self):
        (self.folder / "sly\u001b]0;\u0007\u009b.toml").write_text(program.DISH)
        code, out, err = self.run_program("trace", "sly\u001b]0;\u0007\u009b.toml", "-n", "2^14")
        self.assertEqual((code, err), (0, ""))
        self.assertIn("result: sly\\u001b]0;\\u0007\\u009b.h5\n", out)
        self.assertEqual(self.controls(out), [])

    def test_json_reads_back_what_stood_there(self):
        (self.folder / "sly\u009b.toml").write_text(program.DISH)
        code, out, err = self.run_program("trace", "sly\u009b.toml", "-n", "2^14", "--json", "-o", "a.h5")
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(self.controls(out), [])
        self.assertEqual(json.loads(out)["scene"], "sly\u009b.toml")

    def test_bytes_that_are_no_text(self):
        code, out, err = self.run_program("check", b"\x9b31m.toml")
        self.assertEqual((code, out, err), (2, "", "\\x9b31m.toml: error: can't read the scene: no such file\n"))

    def figure(self, title):
        (self.folder / "dish.toml").write_text(program.DISH.replace("Dish on the plateau test field (invented)", title))
        self.assertEqual(self.run_program("trace", "dish.toml", "-n", "2^14")[0], 0)
        code, out, err = self.run_program("export", "dish.h5", "--to", "svg")
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(out.count("figure: "), 3)
        text = (self.folder / "dish-budget.svg").read_text()
        xml.etree.ElementTree.fromstring(text)
        return text

    def test_dollars_in_figures(self):
        """matplotlib names the letters that it draws in a comment above each text, and draws each as an outline."""
        drawn = self.figure("Dish for $200 or $300 a m2")
        self.assertIn("<!-- Dish for $200 or $300 a m2 -->", drawn)
        self.assertIn('id="DejaVuSans-24"', drawn)  # U+0024
        self.assertIn("<!-- a $\\frac{1$ b -->", self.figure("a $\\\\frac{1$ b"))

    def test_control_characters_in_figures(self):
        """A scene's reader lets none in; a file that another program wrote may have them. XML 1.0, section 2.2, allows
        neither C0 controls nor U+FFFE, written as references or not."""
        sets = {
            "/budget/term": {"values": ["cosine", "absorbed"], "shape": [2]},
            "/budget/power_W": {
                "values": [1.0, 2.0], "shape": [2], "ancillary_variables": "power_standard_error_W"
            },
            "/budget/power_standard_error_W": {"values": [0.1, 0.1], "shape": [2]},
        }
        receiver = "/receivers/sly\u0002/"
        sets[receiver + "flux_W_m2"] = {"values": [0.0], "shape": [1]}
        sets[receiver + "enclosed/radius_m"] = {"values": [0.0, 1.0], "shape": [2], "about": "from the middle"}
        sets[receiver + "enclosed/fraction"] = {"values": [0.0, 1.0], "shape": [2], "standard_error": [0.0, 0.0]}
        sets[receiver + "intercept_factor"] = {"values": 0.9, "shape": [], "standard_error": 0.01}
        title = "a\u0001\u001f\u009b\ufffe for $2 or $3"
        job = {"format": "svg", "around_m": {}, "data": {"attributes": {"title": title}, "sets": sets}}
        drawn = subprocess.run(
            ["/usr/bin/python3", "-B", FIGURES], input=json.dumps(job).encode(), capture_output=True, check=True
        ).stdout
        names = []
        while drawn:
            head, rest = drawn.split(b"\n", 1)
            size, name = head.split(b" ", 1)
            picture, drawn = rest[: int(size)], rest[int(size) :]
            names.append(name)
            xml.etree.ElementTree.fromstring(picture)
            self.assertIn(b'id="DejaVuSans-24"', picture)  # the outline of a dollar, U+0024
            self.assertIn(b"<!-- a\\u0001\\u001f\\u009b\\ufffe for $2 or $3 -->", picture)
        self.assertEqual(names, [b"budget", b"intercept"])
        self.assertIn(b"<!-- sly\\u0002: intercept factor 0.900 \xc2\xb1 0.010 -->", picture)

    def test_figures_without_standard_input(self):
        self.assertEqual(self.run_program("trace", "dish.toml", "-n", "2^14")[0], 0)
        code, out, err = self.run_program("export", "dish.h5", "--to", "svg", preexec_fn=lambda: os.close(0))
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(out.count("figure: "), 3)


if __name__ == "__main__":
    program.main()
