"""The validation book: compares the engine with independent references."""

import argparse
import difflib
import os
import sys
import tempfile
import time
from pathlib import Path

from . import origin, page, verdict
from .case import Case, load
from .engine import Engine

HERE = Path(__file__).resolve().parent.parent


def chosen(words):
    folders = sorted(path.parent for path in HERE.glob("[0-9]*-*/case.py"))
    if not words:
        return folders
    out = []
    for word in words:
        found = [
            f for f in folders if f.name == word or f.name.split("-", 1)[1] == word or f.name.split("-")[0] == word
        ]
        if not found:
            near = difflib.get_close_matches(word, [f.name for f in folders], 1, 0)
            print(
                f"validate: no case '{word}'; did you mean '{near[0]}'?\n  cases: {', '.join(f.name for f in folders)}",
                file=sys.stderr,
            )
            raise SystemExit(2)
        out += [folder for folder in found if folder not in out]
    return out


def main():
    parser = argparse.ArgumentParser(
        prog="tools/validate",
        description=__doc__,
        epilog="The environment variable CATOPTRA names the program under test. Exit code 0: all agree.",
    )
    parser.add_argument("--catoptra", default=os.environ.get("CATOPTRA"), help=argparse.SUPPRESS)
    parser.add_argument(
        "--out",
        default=str(HERE.parent / "build/validation"),
        help="folder of index.html, table.csv, table.md and the figures [build/validation of this checkout]",
    )
    parser.add_argument("--fast", action="store_true", help="run the fast cases only; not together with CASE")
    parser.add_argument(
        "--dice", type=int, default=0, metavar="N", help="use other seeds; a real fault stays, bad luck does not [0]"
    )
    parser.add_argument("cases", nargs="*", metavar="CASE", help="name or number of a case [all]")
    typed = parser.parse_args()
    if typed.fast and typed.cases:
        parser.error("--fast can't be used together with cases; leave out --fast or " + " ".join(typed.cases))
    if not typed.catoptra or not os.access(typed.catoptra, os.X_OK):
        parser.error(f"there is no program '{typed.catoptra or ''}'; CATOPTRA names it")
    out = Path(typed.out)
    out.mkdir(parents=True, exist_ok=True)
    started = time.monotonic()
    cases = []
    for folder in chosen(typed.cases):
        module = load(folder)
        if typed.fast and not module.fast:
            continue
        with tempfile.TemporaryDirectory() as work:
            case = Case(folder, module, Engine(typed.catoptra, work, typed.dice))
            case.execute()
        cases.append(case)
        bad = sum(not row.passed for row in case.rows)
        word = f"{bad} DISAGREE" if bad else "agree"
        print(
            f"{folder.name:32} {len(case.rows):4} quantities, {case.engine.runs:4} runs, {case.seconds:6.1f} s: {word}",
            flush=True,
        )
        for row in case.rows:
            if not row.passed:
                print("    " + "; ".join(page.cells(row)[1:6]), flush=True)
    rows = [row for case in cases for row in case.rows]
    z_scores = [row.z for row in rows if row.counts]
    chance = verdict.whole_book(z_scores)
    bad = sum(not row.passed for row in rows)
    law = "too few z-scores to test their distribution"
    if chance is not None:
        law = f"{len(z_scores)} independent z-scores compared with a standard normal: p = {chance:.3g}"
    line = f"{len(rows)} quantities in {len(cases)} cases, {bad} disagree; {law}."
    page.write_tables(out, rows)
    page.write_page(out, cases, z_scores, chance, line, origin.facts(typed.catoptra, time.monotonic() - started))
    print(f"{line} {time.monotonic() - started:.0f} s. Page: {out / 'index.html'}")
    good = bool(rows) and bad == 0 and (chance is None or chance >= verdict.WHOLE_BOOK_LEVEL)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
