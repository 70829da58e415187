"""clang-tidy on the engine and the tools, as many sources at once as there are cores.

    tools/dev/tidy.py BUILD     BUILD: a folder with compile_commands.json, made for clang

A source that passed is looked at again only when it, a header of ours that it includes, its compile command, .clang-tidy
or clang-tidy itself has changed: BUILD/passed holds the hash of all these for each source that passed.
"""

import concurrent.futures
import hashlib
import json
import os
import pathlib
import shlex
import subprocess
import sys
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent


def output_of(words, folder):
    return subprocess.run(words, cwd=folder, stdout=subprocess.PIPE, text=True, check=True).stdout


class Source:
    def __init__(self, entry, build):
        self.folder = entry["directory"]
        self.path = pathlib.Path(self.folder, entry["file"]).resolve()
        self.name = self.path.relative_to(ROOT).as_posix()
        self.command = shlex.split(entry["command"])
        self.build = build
        self.passed = build / "passed" / self.name

    def hash(self, common):
        """Of all that clang-tidy's answer depends on; system headers come with its version."""
        words = self.command[:]
        del words[words.index("-o") : words.index("-o") + 2]
        rule = output_of([*(word for word in words if word != "-c"), "-MM"], self.folder)
        out = hashlib.sha256(common + shlex.join(self.command).encode())
        for name in sorted(set(rule.replace("\\\n", " ").split()[1:])):
            content = pathlib.Path(self.folder, name).read_bytes()
            out.update(f"{len(content)}\n".encode() + content)
        return out.hexdigest()

    def check(self, common):
        """Seconds taken (None: it had passed before), and what clang-tidy finds: nothing where it passes."""
        digest = self.hash(common)
        if self.passed.exists() and self.passed.read_text() == digest:
            return None, ""
        began = time.monotonic()
        words = ["clang-tidy", "--quiet", "-p", str(self.build), str(self.path)]
        done = subprocess.run(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        took = time.monotonic() - began
        if done.returncode != 0 or done.stdout.strip():
            return took, done.stdout + (done.stderr if not done.stdout.strip() else "")
        self.passed.parent.mkdir(parents=True, exist_ok=True)
        self.passed.write_text(digest)
        return took, ""


def main():
    build = pathlib.Path(sys.argv[1]).resolve()
    entries = json.loads((build / "compile_commands.json").read_text())
    sources = [Source(entry, build) for entry in entries]
    sources = [
        one for one in sources if one.name.startswith(("engine/", "tools/")) and one.name.endswith(".cpp")
    ]  # assembly that embeds files is none of its business
    if not sources:
        sys.exit(f"tools/dev/tidy.py: no sources of ours in {build}")
    common = output_of(["clang-tidy", "--version"], ROOT).encode() + (ROOT / ".clang-tidy").read_bytes()
    bad = looked_at = 0
    with concurrent.futures.ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool:
        running = {pool.submit(one.check, common): one for one in sources}
        for number, done in enumerate(concurrent.futures.as_completed(running), 1):
            took, found = done.result()
            if took is not None:
                looked_at += 1
                print(f"[{number}/{len(sources)}] {running[done].name}: {took:.1f} s", file=sys.stderr)
            if found:
                bad += 1
                print(found)
    print(f"tidy: {len(sources)} sources, {looked_at} looked at anew, {bad} with findings", file=sys.stderr)
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
