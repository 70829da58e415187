"""One day of one scene: its suns, traced or steered by the program, summed up. For tools/study/compare-day and tune-day."""

import copy
import json
import math
import os
import pathlib
import re
import subprocess
import tempfile
import tomllib

import h5py

PROJECT = pathlib.Path(__file__).resolve().parent.parent.parent
SCENES = PROJECT / "scenes" / "comparison"
PROGRAM = os.environ.get("CATOPTRA", str(PROJECT / "build" / "release" / "tools" / "catoptra"))


class Moment(str):
    """A date and time, which TOML writes without quotes."""


class Refused(Exception):
    """The program's own words for a scene that it does not take."""


def load(name, loss="warm"):
    return tomllib.loads((SCENES / loss / f"{name}.toml").read_text())


def changed(scene, values):
    """A copy with other values at dotted paths such as 'receiver.0.shape.radius_m'; each path must exist."""
    scene = copy.deepcopy(scene)
    for path, value in values.items():
        *way, last = path.split(".")
        spot = scene
        for step in way:
            spot = spot[int(step) if step.isdigit() else step]
        last = int(last) if last.isdigit() else last
        spot[last]  # an unknown key is a KeyError here, not a silent addition
        spot[last] = value
    return scene


def leaned(scene, angle_deg):
    """The fixed primary turned about its centre of curvature toward the south by this angle (north, if negative)."""
    scene = copy.deepcopy(scene)
    primary = scene["primary"][0]
    if primary["mount"]["kind"] != "fixed":
        raise ValueError("only a primary that stands still can lean")
    radius_m, angle = primary["shape"]["radius_m"], math.radians(angle_deg)
    axis = [0.0, -math.sin(angle), math.cos(angle)]
    primary["mount"]["axis"] = axis
    primary["mount"]["position_m"] = [-radius_m * axis[0], -radius_m * axis[1], radius_m - radius_m * axis[2]]
    return scene


def is_steered(scene):
    return any(one["mount"]["kind"] == "steered" for one in scene.get("secondary", []))


def least_height_m(scene):
    """Of a disc that faces up over a spherical bowl: its edge, furthest from the bowl's middle, a centimetre above it."""
    (bowl,), (disc,) = scene["primary"], scene["receiver"]
    edge_m = abs(disc["mount"]["position_m"][1]) + disc["shape"]["diameter_m"] / 2
    edge_m, radius_m = min(edge_m, bowl["aperture"]["diameter_m"] / 2), bowl["shape"]["radius_m"]
    return radius_m - math.sqrt(max(radius_m**2 - edge_m**2, 0)) + 0.01


def sited(name, scene, latitude_deg):
    """The scene as it would be built there: what leans does so by the latitude, and a fixed receiver under a steered
    mirror stands as far north as the image of the sun does at noon of an equinox, by the tuned share, and clear of the
    bowl."""
    was_deg, scene = scene["site"]["latitude_deg"], copy.deepcopy(scene)
    scene["site"]["latitude_deg"] = latitude_deg
    if name.endswith("-leaning"):
        scene = leaned(scene, latitude_deg)
    if is_steered(scene):
        place = scene["receiver"][0]["mount"]["position_m"]
        place[1] *= math.sin(math.radians(latitude_deg)) / math.sin(math.radians(was_deg))
        place[2] = max(place[2], least_height_m(scene))
    return scene


def toml(value, top=True):
    if isinstance(value, dict) and top:
        lines = []
        for key, one in value.items():
            tables = one if isinstance(one, list) and one and isinstance(one[0], dict) else [one]
            for table in tables:
                if not isinstance(table, dict):
                    lines.append(f"{key} = {toml(table, False)}")
                elif key == "finish":
                    lines += [f"[finish.{name}]\n{toml(finish)}" for name, finish in table.items()]
                else:
                    head = f"[[{key}]]" if isinstance(one, list) else f"[{key}]"
                    lines.append(head)
                    lines += [f"{inner} = {toml(thing, False)}" for inner, thing in table.items()]
        return "\n".join(lines)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml(one, False)}" for key, one in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(toml(one, False) for one in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Moment):
        return str(value)
    if isinstance(value, str):
        return json.dumps(value)
    return value.isoformat() if hasattr(value, "isoformat") else repr(value)


def run(*words):
    done = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True)
    if done.returncode == 2:
        raise Refused(done.stderr.strip())
    if done.returncode:
        raise RuntimeError(done.stderr.strip())
    return done.stdout


def clear_sky_dni_W_m2(elevation_deg):
    """Direct sunlight of a clear day: Meinel and Meinel, Applied Solar Energy, 1976 (1353 x 0.7^(AM^0.678)); air mass by
    Kasten and Young, Applied Optics 28 (1989) 4735. Both from memory."""
    air_mass = 1 / (math.sin(math.radians(elevation_deg)) + 0.50572 * (elevation_deg + 6.07995) ** -1.6364)
    return 1353 * 0.7 ** (air_mass**0.678)


def traced(path, place, samples, threads):
    """One sun, traced. All powers are per W/m2 of sun, as the program's are proportional to the DNI."""
    found = json.loads(
        run("trace", path, "-n", samples, "--replicates", 16, "--threads", threads, "--paths", 0, "--json", "-q",
            "--seed", place, "--force", "-o", path.with_suffix(".h5"))
    )  # fmt: skip
    dni = found["sun"]["dni_W_m2"]
    (receiver,) = found["receivers"].values()
    return {
        "elevation_deg": found["sun"]["elevation_deg"],
        "aperture_m2": found["aperture_area_m2"],
        "receiver_m2": receiver["area_m2"],
        "incident": found["incident_power_W"] / dni,
        "spilled": found["budget"]["spillage"]["power_W"]["value"] / dni,
        "absorbed": receiver["absorbed_power_W"]["value"] / dni,
        "error": receiver["absorbed_power_W"]["standard_error"] / dni,
        "mean": receiver["mean_concentration"]["value"],
        "peak": receiver["peak_concentration"]["value"],
        "peak_error": receiver["peak_concentration"]["standard_error"],
    }


def steered(path, day, every_min, samples, search_samples, threads):
    """Every sun of a day's schedule."""
    out = path.with_suffix(".h5")
    run("steer", path, "--day", day, "--every", f"{every_min}min", "-n", samples, "--replicates", 16, "--threads", threads,
        "--search-samples", search_samples, "-q", "--force", "-o", out)  # fmt: skip
    with h5py.File(out) as file:
        dni = file["sun/dni_W_m2"][()]
        (receiver,) = file["receivers"].values()
        (pose,) = file["poses"].values()
        terms = [term.decode() for term in file["budget/term"][:]]
        return [
            {
                "elevation_deg": file["sun/elevation_deg"][row],
                "aperture_m2": file["aperture_area_m2"][()],
                "receiver_m2": receiver["area_m2"][()],
                "incident": file["incident_power_W"][row] / dni,
                "spilled": file["budget/power_W"][row, terms.index("spillage")] / dni,
                "absorbed": receiver["absorbed_power_W"][row] / dni,
                "error": receiver["absorbed_power_standard_error_W"][row] / dni,
                "mean": receiver["mean_concentration"][row],
                "peak": receiver["peak_concentration"][row],
                "peak_error": receiver["peak_concentration_standard_error"][row],
                "mirror_at_m": [float(x) for x in pose["position_m"][row]],
            }
            for row in range(len(file["time"]))
        ]


def suns(scene, day, every_min, samples, search_samples=2048, threads=2, first_min=0, last_min=1439):
    """Every sun of the day, by solar time to a few minutes, since the comparison's site lies on longitude 0."""
    scene = copy.deepcopy(scene)
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "scene.toml"
        if is_steered(scene):
            path.write_text(toml(scene))
            return steered(path, day, every_min, samples, search_samples, threads)
        rows = []
        for minute in range(first_min, last_min + 1, every_min):
            scene["sun"]["at"] = Moment(f"{day}T{minute // 60:02}:{minute % 60:02}:00+00:00")
            path.write_text(toml(scene))
            try:
                rows.append(traced(path, 1 + minute, samples, threads))
            except Refused as said:
                if "below the horizon" not in str(said):
                    raise
                if rows:
                    break  # night again
        return rows


def day_sum(rows, loss_W_m2, every_min):
    """What a day brings. The heat loss counts while the receiver is hot, that is while it pays.
    Errors: each sun has its own seed; a schedule's suns share one, so errors are added up as if all erred together,
    which is never too small."""
    dni = [clear_sky_dni_W_m2(row["elevation_deg"]) for row in rows]
    kWh = every_min / 60 / 1000

    def total(key):
        return sum(w * row[key] for w, row in zip(dni, rows)) * kWh

    aperture, receiver = rows[0]["aperture_m2"], rows[0]["receiver_m2"]
    sun = sum(dni) * kWh * aperture
    gains = [w * row["absorbed"] - loss_W_m2 * receiver for w, row in zip(dni, rows)]
    peak = max(rows, key=lambda row: row["peak"])
    places = [row["mirror_at_m"] for row in rows if "mirror_at_m" in row]
    caught = sum(w * row["mean"] for w, row in zip(dni, rows)) * kWh * receiver
    return {
        "sun_kWh": sun,
        "absorbed": total("absorbed") / sun,
        "absorbed_error": total("error") / sun,
        "of_incident": total("absorbed") / total("incident"),
        "intercept": caught / (caught + total("spilled")),
        "mean": caught / receiver / (sun / aperture),
        "best_mean": max(row["mean"] for row in rows),
        "peak": peak["peak"],
        "peak_error": peak["peak_error"],
        "net": sum(max(gain, 0) for gain in gains) * kWh / sun,
        "hours": sum(gain > 0 for gain in gains) * every_min / 60,
        "receiver_m2": receiver,
        "way_m": sum(map(math.dist, places, places[1:])) if places else math.nan,
        "top_m": max((place[2] for place in places), default=math.nan),
    }


def save(scene, name, loss, loss_W_m2):
    """Into scenes/comparison/, with a word on where its numbers come from; one component a paragraph."""
    text = toml(scene).replace("\n[", "\n\n[")
    head = f"""# One of the concepts of docs/comparison.md: 100 m2 of aperture, the same mirrors, black and sun in each.
# Its free numbers were searched for a receiver that loses {loss_W_m2 // 1000} kW/m2. All of it is invented.
"""
    folder = SCENES / loss
    folder.mkdir(exist_ok=True)
    (folder / f"{name}.toml").write_text(head + text + "\n")
    run("check", folder / f"{name}.toml")


def mirror_area_m2(scene):
    """All reflecting surface: the primary's from its section, the secondary's as `catoptra check` says."""
    primary = scene["primary"][0]
    shape, outline = primary["shape"], primary["aperture"]
    half_m = outline.get("diameter_m", outline.get("width_m")) / 2
    if shape["kind"] == "sphere":  # 2 pi R h
        radius_m = shape["radius_m"]
        area = 2 * math.pi * radius_m * (radius_m - math.sqrt(radius_m**2 - half_m**2))
    elif shape["kind"] == "paraboloid":  # z = r^2 / (4 f) turned about its axis
        focal_m = shape["focal_length_m"]
        area = 8 * math.pi / 3 * focal_m**2 * ((1 + (half_m / (2 * focal_m)) ** 2) ** 1.5 - 1)
    elif shape["kind"] == "parabolic_trough":  # arc of x^2 / (4 f)
        focal_m = shape["focal_length_m"]
        u = half_m / (2 * focal_m)
        area = 2 * focal_m * (u * math.sqrt(1 + u * u) + math.asinh(u)) * outline["length_m"]
    else:
        area = 2 * shape["radius_m"] * math.asin(half_m / shape["radius_m"]) * outline["length_m"]
    if not scene.get("secondary"):
        return area
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "scene.toml"
        path.write_text(toml(scene))
        said = " ".join(run("check", path).split("secondary '")[1].split())
    return area + float(re.search(r" area ([0-9.]+) m2", said).group(1))
