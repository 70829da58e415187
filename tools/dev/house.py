#!/usr/bin/python3
"""The rules of the house that a machine can see: includes that point down, small files, no paths of somebody's
machine, links that lead somewhere. Prints each fault as file:line: what is wrong, and exits 1 if there is one."""

import re
import subprocess
import sys
from pathlib import Path

# Room: the rooms that it may include besides itself. DEVELOPERS.md draws the same picture.
MAY_INCLUDE = {
    "numeric": set(),
    "geometry": {"numeric"},
    "optics": {"geometry", "numeric"},
    "sun": {"numeric"},
    "scene": {"sun", "optics", "geometry", "numeric"},
    "trace": {"scene", "sun", "optics", "geometry", "numeric"},
    "steer": {"trace", "scene", "sun", "optics", "geometry", "numeric"},
    "study": {"steer", "trace", "scene", "sun", "optics", "geometry", "numeric"},
    "files": {"study", "steer", "trace", "scene", "sun", "optics", "geometry", "numeric"},
    "words": {"files", "study", "steer", "trace", "scene", "sun", "optics", "geometry", "numeric"},
    "pictures": {"words", "files", "study", "steer", "trace", "scene", "sun", "optics", "geometry", "numeric"},
}

# A library whose header begins like this is seen by these rooms of the engine only, so that it can be changed there.
SEEN_ONLY_BY = {
    "xsimd/": ("numeric",),
    "Random123/": ("numeric",),
    "erfa": ("sun",),
    "toml++/": ("scene",),
    "embree3/": ("trace",),
    "tbb/": ("trace",),
    "oneapi/tbb": ("trace",),
    "nlopt": ("steer",),
    "hdf5": ("files", "pictures"),
    "H5": ("files", "pictures"),
    "nlohmann/": ("files", "pictures"),
    "CLI/": (),
}

LONGEST = 400  # lines; tables of data and drawings apart
TABLES = {".csv", ".dat", ".json", ".inc", ".svg"}
WRITTEN_FROM_LISTS = {"scene-reference.md"}  # tables of keys, written by a test out of the engine

MACHINE_PATH = re.compile(r"(?<![\w.}/])/(?:home|root|work|tmp|mnt|srv|Users)/[\w.]")
# Fine in a script, not in a text for people, but for Debian's own interpreter.
DOCUMENT_PATH = re.compile(r"(?<![\w.}/:])/(?!usr/bin/python3\b)(?:usr|opt|etc|var)/[\w.]")
REGISTRY = re.compile(r"https?://[\w.-]*(?:debian|npmjs|pypi|conda)[\w.-]*\.(?:org|com)")
LEFT_OVER = re.compile(r"^(?:<{7}|>{7}|={7})(?: |$)|\b(?:FIXME|TODO|XXX)\b")
INCLUDE = re.compile(r'^\s*#\s*include\s*[<"]([^>"]+)[>"]')
LINK = re.compile(r"\]\(([^)\s#]+)")


def project_files():
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], check=True, capture_output=True, text=True
    ).stdout
    return sorted(path for path in {Path(name) for name in listed.split("\0") if name} if path.is_file())


def include_faults(path, lines):
    if path.suffix not in {".h", ".cpp"} or path.parts[0] not in {"engine", "tools"}:
        return
    room = path.parts[1] if path.parts[0] == "engine" and len(path.parts) > 2 else path.parts[0]
    if room not in MAY_INCLUDE and room != "tools":
        yield 1, f"'{room}' is no room; the rooms are {', '.join(MAY_INCLUDE)}"
        return
    for number, line in enumerate(lines, 1):
        found = INCLUDE.match(line)
        if not found:
            continue
        header = found[1]
        top = header.split("/")[0]
        if ".." in header.split("/"):
            yield number, f"include '{header}' from engine/, not relative to this file"
        elif room in MAY_INCLUDE and top in (MAY_INCLUDE.keys() | {"tools", "tests"}) - MAY_INCLUDE[room] - {room}:
            below = ", ".join(other for other in MAY_INCLUDE if other in MAY_INCLUDE[room]) or "nothing"
            yield number, f"{room} may not include '{header}': below it are {below}"
        for start, owners in SEEN_ONLY_BY.items():
            if header.startswith(start) and room not in {*owners, "tools"}:
                yield number, f"only {' and '.join(owners) or 'tools'} may see '{header}'"


def text_faults(path, lines):
    if len(lines) > LONGEST and path.suffix not in TABLES and path.name not in WRITTEN_FROM_LISTS:
        yield LONGEST + 1, f"{len(lines)} lines; a file has {LONGEST} at most: split it by what changes together"
    for number, line in enumerate(lines, 1):
        if MACHINE_PATH.search(line) or (path.suffix in {".md", ".toml"} and DOCUMENT_PATH.search(line)):
            yield number, "an absolute path, which other machines do not have"
        if REGISTRY.search(line):
            yield number, "the host of a package registry: name the package instead"
        if LEFT_OVER.search(line):
            yield number, "unfinished work or a merge's left-over"


def link_faults(path, lines):
    if path.suffix != ".md":
        return
    for number, line in enumerate(lines, 1):
        for target in LINK.findall(line):
            if "://" not in target and not target.startswith("mailto:") and not (path.parent / target).exists():
                yield number, f"the link to '{target}' leads nowhere"


def main():
    faults = 0
    for path in project_files():
        try:
            lines = path.read_text(encoding="utf-8").splitlines()
        except UnicodeDecodeError:
            continue  # a picture or the like
        if path == Path("tools/dev/house.py"):  # it spells out what it looks for
            continue
        for check in (include_faults, text_faults, link_faults):
            for number, what in check(path, lines):
                print(f"{path}:{number}: {what}", file=sys.stderr)
                faults += 1
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
