"""What the lists of slips refuse, and where switches stand."""

import tempfile
import unittest
from pathlib import Path

from lists import ListError, Slip, check, read_lists, switched


def slip(right, wrong="w", id="a", **more):
    return Slip(id=id, room="trace", file="engine/f.cpp", right=right, wrong=wrong, **more)


class ListsTest(unittest.TestCase):
    def lists(self, **texts):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        for name, text in texts.items():
            (Path(folder.name) / f"{name}.toml").write_text(text)
        return read_lists(Path(folder.name))

    def test_a_right_text_must_stand_in_its_file_once(self):
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / "engine").mkdir()
            (Path(folder) / "engine" / "f.cpp").write_text("a + b; a + b; c;\n")
            check([slip("c")], Path(folder))
            with self.assertRaisesRegex(ListError, "'a': its right text stands 2 times in engine/f.cpp, not once"):
                check([slip("a + b")], Path(folder))
            with self.assertRaisesRegex(ListError, "stands 0 times"):
                check([slip("d")], Path(folder))

    def test_switches_stand_side_by_side_and_within_each_other(self):
        head = '#include "../tests/slips/slip.h"\n'
        one, other = slip("b + c", "b - c"), slip("c", "d", id="b")
        self.assertEqual(switched("x = a;", [(7, slip("a"))]), head + "x = CATOPTRA_SLIP(7, (a), (w));")
        self.assertEqual(
            switched("x = b + c;", [(1, one), (2, other)]),
            head + "x = CATOPTRA_SLIP(1, (b + CATOPTRA_SLIP(2, (c), (d))), (b - c));",
        )
        self.assertEqual(
            switched("x = a;", [(1, slip("a", "v")), (2, slip("a", id="b"))]),
            head + "x = CATOPTRA_SLIP(1, (CATOPTRA_SLIP(2, (a), (w))), (v));",
        )
        self.assertEqual(
            switched("f();", [(3, slip("f();", "g();"))]),
            head + "{ if (catoptra_slips::made(3)) { g(); } else { f(); } }",
        )
        self.assertEqual(
            switched("f(a, b, c); g(a);", [(4, slip("f(«a, b, c»)", "b, a, c"))]),
            head + "f(CATOPTRA_SLIP(4, (a), (b)),CATOPTRA_SLIP(4, (b), (a)), c); g(a);",
        )
        with self.assertRaisesRegex(ListError, "3 expressions switched to 1"):
            switched("f(a, b, c);", [(4, slip("a, b, c"))])
        with self.assertRaisesRegex(ListError, "overlap in part"):
            switched("a + b + c", [(1, slip("a + b")), (2, slip("b + c", id="b"))])

    def test_a_list_says_what_is_wrong_with_it(self):
        good = '["engine/f.cpp"]\na = ["r", "w"]\n'
        self.assertEqual([found.id for found in self.lists(trace=good)], ["a"])
        for text, fault in (
            (good.replace(', "w"', ""), "trace.toml: 'a': allowed: [right, wrong], or"),
            (good.replace('"w"', '"r"'), "'a': right and wrong are alike"),
            (good + '["engine/g.cpp"]\na = ["r", "w"]\n', "'a' is a slip of trace.toml too"),
            (good + "[", "trace.toml: "),
        ):
            with self.assertRaises(ListError) as raised:
                self.lists(trace=text)
            self.assertIn(fault, str(raised.exception))
        with self.assertRaisesRegex(ListError, "tracer.toml: no list has this name; allowed: numeric, "):
            self.lists(tracer=good)


if __name__ == "__main__":
    unittest.main()
