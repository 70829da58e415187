"""Where a book comes from: program, commit, date, machine."""

import datetime
import hashlib
import platform
import subprocess
from pathlib import Path

HERE = Path(__file__).resolve().parent


def said(*command):
    """What a command prints, or nothing where it fails."""
    try:
        done = subprocess.run([str(word) for word in command], capture_output=True, text=True, cwd=HERE)
    except OSError:
        return ""
    return done.stdout.strip() if done.returncode == 0 else ""


def commit():
    found = said("git", "rev-parse", "HEAD")
    if not found:
        return "not in a git checkout"
    changed = said("git", "status", "--porcelain", "--untracked-files=no")
    return found + (", with changes that are not committed" if changed else "")


def processor():
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        lines = []
    names = [line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")]
    return f"{len(names)} x {names[0]}" if names else platform.machine()


def facts(program, seconds):
    """[(word, text)] for the book's head."""
    program = Path(program).resolve()
    return [
        ("Program", f"{said(program, '--version')}, SHA-256 {hashlib.sha256(program.read_bytes()).hexdigest()}"),
        ("Commit of the book", commit()),
        ("Written", datetime.datetime.now(datetime.timezone.utc).strftime("%Y-%m-%d %H:%M UTC")),
        ("Machine", f"{processor()}, {platform.system()} {platform.release()}"),
        ("Time of the run", f"{seconds:.0f} s"),
    ]
