"""The lists of slips, and sources with every slip of them behind a switch. Standard library only."""

import dataclasses
import tomllib
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
MOST = 4096  # as in slip.h
# A list has numbers of its own, so that a new slip changes no file of another list.
LISTS = ["numeric", "geometry", "optics", "sun", "scene", "trace", "steer", "study", "results", "tools", "headers"]
LONGEST_LIST = 360


@dataclasses.dataclass(frozen=True)
class Slip:
    id: str
    room: str  # its list's name
    file: str
    right: str  # stands in the file exactly once; where a part of it is marked «so», that part alone is switched
    wrong: str  # for the switched part
    accepted: str = ""  # why no test needs to see it

    @property
    def is_statement(self):
        """Whole statements; otherwise expressions, or lists of them between commas."""
        return self.right.partition("»")[0].endswith(";")


class ListError(Exception):
    """A list that cannot be used; its text has a line for each fault."""


def read_lists(folder=HERE):
    """All slips, list by list. Raises ListError."""
    slips, faults, seen = [], [], {}
    for path in sorted(folder.glob("*.toml")):
        if path.stem not in LISTS:
            faults.append(f"{path.name}: no list has this name; allowed: {', '.join(LISTS)}")
            continue
        try:
            files = tomllib.loads(path.read_text(encoding="utf-8"))
        except tomllib.TOMLDecodeError as fault:
            faults.append(f"{path.name}: {fault}")
            continue
        entries = [(file, name, texts) for file, table in files.items() for name, texts in table.items()]
        if len(entries) >= LONGEST_LIST:
            faults.append(f"{path.name}: {len(entries)} slips; a list has room for {LONGEST_LIST - 1}")
        for file, name, texts in entries:
            sound = isinstance(texts, list) and len(texts) in (2, 3) and all(isinstance(text, str) for text in texts)
            if not sound:
                faults.append(f"{path.name}: '{name}': allowed: [right, wrong], or [right, wrong, why it is accepted]")
                continue
            if name in seen:
                faults.append(f"{path.name}: '{name}' is a slip of {seen[name]} too")
            seen[name] = path.name
            if texts[0] == texts[1]:
                faults.append(f"{path.name}: '{name}': right and wrong are alike")
            slips.append(Slip(name, path.stem, file, *texts))
    if faults:
        raise ListError("\n".join(faults))
    return slips


def place_of(slip, text):
    """First and last place in the text of its file of what is switched. Raises ListError where the right text does not
    stand there once."""
    before, mark, rest = slip.right.partition("«")
    part, end_mark, after = rest.partition("»") if mark else (before, "»", "")
    if not end_mark:
        raise ListError(f"{slip.room}.toml: '{slip.id}': « without »")
    whole = before + part + after if mark else part
    count = text.count(whole)
    if count != 1:
        raise ListError(f"{slip.room}.toml: '{slip.id}': its right text stands {count} times in {slip.file}, not once")
    begin = text.index(whole) + (len(before) if mark else 0)
    return begin, begin + len(part)


def parts(text):
    """What stands between the commas that lie in no brackets and no quotes."""
    out, depth, quoted = [""], 0, False
    for i, c in enumerate(text):
        if c == '"' and text[i - 1 : i] != "\\":
            quoted = not quoted
        depth += 0 if quoted else (c in "([{") - (c in ")]}")
        if c == "," and depth == 0 and not quoted:
            out.append("")
        else:
            out[-1] += c
    return out


def switch(slip, number, right):
    """The text that takes the place of `right`, in the file's language."""
    if slip.file.endswith(".py"):
        if slip.is_statement:
            raise ListError(f"{slip.room}.toml: '{slip.id}': in Python, expressions only")
        return f'(({slip.wrong}) if __import__("os").environ.get("CATOPTRA_SLIP") == "{number}" else ({right}))'
    if slip.is_statement:
        return f"{{ if (catoptra_slips::made({number})) {{ {slip.wrong} }} else {{ {right} }} }}"
    rights, wrongs = parts(right), parts(slip.wrong)
    if len(rights) != len(wrongs):
        raise ListError(f"{slip.room}.toml: '{slip.id}': {len(rights)} expressions switched to {len(wrongs)}")
    return ",".join(
        one if one.strip() == other.strip() else f"CATOPTRA_SLIP({number}, ({one.strip()}), ({other.strip()}))"
        for one, other in zip(rights, wrongs)
    )


def switched(text, here):
    """The text of a file with a switch at each of its (number, slip). Slips may have the same place, or one may lie
    within the other; they may not overlap in part."""
    places = sorted(
        ((*place_of(slip, text), number, slip) for number, slip in here),
        key=lambda place: (place[0], -place[1], place[2]),
    )

    def between(begin, end, inside):
        out, at = "", begin
        while inside:
            first, last, number, slip = inside[0]
            within = [place for place in inside[1:] if place[0] < last]
            for place in within:
                if place[1] > last:
                    raise ListError(f"{slip.room}.toml: '{slip.id}' and '{place[3].id}' overlap in part")
            out += text[at:first] + switch(slip, number, between(first, last, within))
            at = last
            inside = inside[1 + len(within) :]
        return out + text[at:end]

    out = between(0, len(text), places)
    if not here[0][1].file.endswith((".h", ".cpp")):
        return out
    up = "../" * here[0][1].file.count("/")
    return f'#include "{up}tests/slips/slip.h"\n' + out


def numbered(slips):
    """(number, slip) of each: from 1, LONGEST_LIST to a list."""
    counts = dict.fromkeys((slip.room for slip in slips), 0)
    out = []
    for slip in slips:
        counts[slip.room] += 1
        out.append((LISTS.index(slip.room) * LONGEST_LIST + counts[slip.room], slip))
    assert all(number < MOST for number, _ in out)
    return out


def by_file(slips):
    """(number, slip) of each file."""
    out = {}
    for number, slip in numbered(slips):
        out.setdefault(slip.file, []).append((number, slip))
    return out


def check(slips, root=ROOT):
    """Raises ListError with a line for each slip that no longer fits its file."""
    faults = []
    for file, here in by_file(slips).items():
        path = root / file
        if not path.is_file():
            faults.append(f"{here[0][1].room}.toml: '{here[0][1].id}': no file {file}")
            continue
        text = path.read_text(encoding="utf-8")
        stale = len(faults)
        for _, slip in here:
            try:
                place_of(slip, text)
            except ListError as fault:
                faults.append(str(fault))
        if len(faults) == stale:
            try:
                switched(text, here)
            except ListError as fault:
                faults.append(str(fault))
    if faults:
        raise ListError("\n".join(faults))
