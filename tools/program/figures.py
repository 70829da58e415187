"""Figures of a result, for papers. The program carries this text and runs it with Debian's Python: a JSON object comes
on the standard input, with `data` (the result file), the figures' `format`, and `around_m`, the radius by which a
receiver's azimuths become lengths. Once all are drawn, each goes to the standard output as its number of bytes, a blank,
what it shows and a line's end, then the bytes: the program writes the files."""

import base64
import datetime
import io
import json
import math
import re
import sys
import textwrap

try:
    import matplotlib
    import numpy

    matplotlib.use("Agg")
    import matplotlib.pyplot as pyplot
except ImportError as missing:
    sys.exit(
        f"catoptra: error: figures need matplotlib, which {sys.executable} does not find ({missing})\n"
        "  on Debian: apt install python3-matplotlib"
    )

# Fonts go into the file: TrueType in PDF, outlines in SVG. The salt makes equal figures equal to the byte.
matplotlib.rcParams.update(
    {
        "pdf.fonttype": 42,
        "svg.fonttype": "path",
        "svg.hashsalt": "catoptra",
        "font.family": "DejaVu Sans",
        "font.size": 8,
        "axes.titlesize": 8,
        "axes.linewidth": 0.6,
        "lines.linewidth": 1.1,
        "savefig.dpi": 300,
        "text.parse_math": False,  # a dollar is a dollar
        "figure.constrained_layout.use": True,
    }
)
# Of M. Okabe and K. Ito, "Color Universal Design" (2008).
BLACK, ORANGE, SKY, GREEN, BLUE, VERMILION, PURPLE = (
    "#000000", "#e69f00", "#56b4e9", "#009e73", "#0072b2", "#d55e00", "#cc79a7",
)
CURVES = [(BLUE, "-"), (VERMILION, "--"), (GREEN, "-."), (PURPLE, ":"), (ORANGE, "-"), (SKY, "--")]
FLUX_COLOURS = "inferno"


class Result:
    """The file's datasets as numpy arrays."""

    def __init__(self, data):
        self.sets, self.attributes = data["sets"], data["attributes"]

    def __contains__(self, path):
        return path in self.sets

    def __getitem__(self, path):
        entry = self.sets[path]
        found = entry["values"]
        if isinstance(found, dict):
            found = numpy.frombuffer(base64.b64decode(found["f64"]), "<f8")
        elif isinstance(found, list) and not any(isinstance(value, str) for value in found):
            found = numpy.array([math.nan if value is None else value for value in found], float)
        return numpy.reshape(found, entry["shape"]) if entry["shape"] else found

    def attribute(self, path, name):
        return self.sets[path].get(name)

    def error(self, path):
        """Standard errors: another dataset, which this one names, or, in files of schema 1, its attribute."""
        beside = self.attribute(path, "ancillary_variables")
        return self[path[: path.rindex("/") + 1] + beside] if beside else self.attribute(path, "standard_error")

    def under(self, group):
        names = [path[len(group) :].split("/")[0] for path in self.sets if path.startswith(group)]
        return list(dict.fromkeys(names))


def with_error(value, error, factor=1):
    """As in the program's tables: the error to two digits, the value to the same place."""
    value, error = value * factor, error * factor
    if not error > 1e-12 * abs(value):  # exact, but for rounding
        return f"{value:.6g}"
    places = max(0, 1 - math.floor(math.log10(error)))
    return f"{value:.{places}f} ± {error:.{places}f}"


def headed(figure, *lines):
    short = [textwrap.shorten(line, 90, placeholder=" …") for line in lines if line]
    figure.suptitle("\n".join(short), x=0.01, ha="left", fontsize=8)


def flux_figure(result, name, around_m, title):
    group = f"/receivers/{name}/"
    flux, error = result[group + "flux_W_m2"] / 1e3, result.error(group + "flux_W_m2") / 1e3
    dni_kW_m2 = result["/sun/dni_W_m2"] / 1e3
    edges, labels = [], []
    for path in result.sets[group + "flux_W_m2"]["over"]:
        line = result[group + result.attribute(path, "edges")]
        if path.endswith("azimuth_rad"):
            edges.append(line * around_m)
            labels.append("around the receiver (m)")
        else:
            edges.append(line)
            labels.append({"x_m": "x (m)", "y_m": "y (m)", "height_m": "height (m)"}.get(path.split("/")[-1], path))
    middles = [(line[1:] + line[:-1]) / 2 for line in edges]
    width, height = (line[-1] - line[0] for line in edges)
    peak = numpy.unravel_index(numpy.nanargmax(flux), flux.shape)

    equal = 0.5 < width / height < 4  # else one of them would be a sliver
    map_inches = min(3.4, 3.4 * height / width) if equal else 2.6
    figure = pyplot.figure(figsize=(5, map_inches + 2.5))
    above, below = figure.subfigures(2, 1, height_ratios=[map_inches + 0.8, 1.7])
    axes = above.subplots()
    image = axes.imshow(
        flux.T,
        origin="lower",
        extent=(edges[0][0], edges[0][-1], edges[1][0], edges[1][-1]),
        interpolation="none",
        cmap=FLUX_COLOURS,
        vmin=0,
        aspect="equal" if equal else "auto",
    )
    if min(flux.shape) >= 8 and flux[peak] > 0:
        levels = [share * flux[peak] for share in (0.1, 0.5, 0.9)]
        axes.contour(*middles, numpy.nan_to_num(flux.T), levels, colors=["white", "white", "black"], linewidths=0.5)
    axes.plot(middles[0][peak[0]], middles[1][peak[1]], "+", color="#00b7ff", markersize=7)
    axes.set_xlabel(labels[0])
    axes.set_ylabel(labels[1])
    words = f"{name}: peak {with_error(flux[peak], error[peak])} kW/m² at the cross; lines at 10, 50, 90 % of it"
    headed(above, title, words)
    bar = above.colorbar(image, ax=axes, label="irradiance (kW/m²)")
    suns = bar.ax.secondary_yaxis("left", functions=(lambda x: x / dni_kW_m2, lambda x: x * dni_kW_m2))
    suns.set_ylabel("suns (irradiance / DNI)")
    for axis, axes in enumerate(below.subplots(1, 2, sharey=True)):
        cut = (slice(None), peak[1]) if axis == 0 else (peak[0], slice(None))
        low, high = flux[cut] - error[cut], flux[cut] + error[cut]
        axes.fill_between(middles[axis], low, high, color=SKY, alpha=0.5, linewidth=0, step="mid")
        axes.step(middles[axis], flux[cut], where="mid", color=BLUE, linewidth=0.8)
        axes.set_xlabel(labels[axis])
        axes.set_xlim(edges[axis][0], edges[axis][-1])
        axes.set_ylim(bottom=0)
        axes.grid(linewidth=0.3)
        if axis == 0:
            axes.set_ylabel("through the peak\n(kW/m²)")
    return figure


def budget_figure(terms, powers_W, errors_W, title, note=""):
    total_W = float(sum(powers_W))
    rows = [("DNI × aperture area", 0, total_W, 0, "#999999")]
    left_W = total_W
    for term, power_W, error_W in zip(terms, powers_W, errors_W):
        colour = ORANGE if term == "absorbed" else BLUE
        left_W -= power_W
        rows.append((term.replace("_", " "), 0 if term == "absorbed" else left_W, power_W, error_W, colour))
    figure, axes = pyplot.subplots(figsize=(5.5, 2.8))
    percent_kW = 1.75 * total_W / 1e3  # where that column ends
    for place, (words, start_W, power_W, error_W, colour) in enumerate(rows):
        axes.barh(place, power_W / 1e3, left=start_W / 1e3, color=colour, height=0.7)
        if error_W > 0:
            end_W = power_W if words == "absorbed" else start_W
            axes.errorbar(end_W / 1e3, place, xerr=error_W / 1e3, color=BLACK, capsize=2, linewidth=0.8)
        axes.text(1.02 * total_W / 1e3, place, with_error(power_W, error_W, 1e-3), va="center")
        axes.text(percent_kW, place, f"{100 * power_W / total_W:.2f}", va="center", ha="right")
    axes.text(1.02 * total_W / 1e3, -1, "kW", va="center")
    axes.text(percent_kW, -1, "%", va="center", ha="right")
    axes.set_yticks(range(len(rows)), [row[0] for row in rows])
    axes.set_ylim(len(rows) - 0.4, -1.6)
    axes.set_xlim(0, percent_kW)
    axes.spines["bottom"].set_bounds(0, total_W / 1e3)
    axes.set_xticks([tick for tick in axes.get_xticks() if tick <= total_W / 1e3])
    axes.set_xlabel("power (kW)", loc="left")
    axes.spines[["top", "right"]].set_visible(False)
    headed(figure, title, note)
    return figure


def intercept_figure(result, name, title):
    group = f"/receivers/{name}/"
    radius, share = result[group + "enclosed/radius_m"], result[group + "enclosed/fraction"]
    error = result.error(group + "enclosed/fraction")
    intercept = result[group + "intercept_factor"]
    figure, axes = pyplot.subplots(figsize=(4, 2.8))
    axes.fill_between(radius, share - error, share + error, color=SKY, alpha=0.5, linewidth=0)
    axes.plot(radius, share, color=BLUE)
    for level in (0.5, 0.9):
        reached = radius[numpy.searchsorted(share, level)]
        axes.plot([0, reached, reached], [level, level, 0], ":", color=BLACK, linewidth=0.7)
        side, place = ("left", (4, -9)) if reached < radius[-1] / 2 else ("right", (-4, 3))
        words = f"{100 * level:.0f} % within {reached:.3g} m"
        axes.annotate(words, (reached, level), place, textcoords="offset points", ha=side, backgroundcolor="#ffffffc0")
    axes.set_xlim(0, radius[-1])
    axes.set_ylim(0, 1.03)
    axes.set_xlabel(result.attribute(group + "enclosed/radius_m", "about") + " (m)")
    axes.set_ylabel("share of the arriving power")
    axes.grid(linewidth=0.3)
    if intercept > 0:
        scaled = axes.secondary_yaxis("right", functions=(lambda x: x * intercept, lambda x: x / intercept))
        scaled.set_ylabel("intercept factor so far")
    whole = with_error(intercept, result.error(group + "intercept_factor"))
    headed(figure, title, f"{name}: intercept factor {whole}")
    return figure


def by_day(times, local):
    """Rows of each day of the clock, and their hours on it; rows without a time have none."""
    days = {}
    for row, (seconds, words) in enumerate(zip(times, local)):
        if math.isnan(seconds):
            continue
        time = datetime.datetime.fromisoformat(words.replace("Z", "+00:00"))
        days.setdefault(time.date().isoformat(), []).append((row, time.hour + time.minute / 60 + time.second / 3600))
    return days


def day_figure(result, title):
    days = by_day(result["/time"], result["/local_time"])
    if not any(len(rows) > 1 for rows in days.values()):
        return None
    terms = list(result["/budget/term"])
    power, error = result["/budget/power_W"], result.error("/budget/power_W")
    absorbed, absorbed_error = (found[:, terms.index("absorbed")] for found in (power, error))
    panels = [
        ("absorbed (kW)", absorbed / 1e3, absorbed_error / 1e3),
        ("optical efficiency", result["/optical_efficiency"], result.error("/optical_efficiency")),
        ("intercept factor", result["/intercept_factor"], result.error("/intercept_factor")),
    ]
    for name in result.under("/poses/"):
        offset = f"/poses/{name}/offset_m"
        if offset in result:
            panels.append((f"{name}: from\nhome (m)", result[offset], None))
        else:  # follows a law: it has no home
            panels.append((f"{name}:\nplace (m)", result[f"/poses/{name}/position_m"], None))
    figure, axes = pyplot.subplots(len(panels), 1, figsize=(5, 1.25 * len(panels) + 0.5), sharex=True)
    many = len(days) > 1
    shades = pyplot.get_cmap("viridis")(numpy.linspace(0, 0.9, len(days)))
    for panel, (label, values, errors) in zip(axes, panels):
        for number, (day, found) in enumerate(days.items()):
            rows, hours = [row for row, _ in found], [hour for _, hour in found]
            if errors is not None:
                colour = shades[number] if many else BLUE
                panel.plot(hours, values[rows], color=colour, label=day, marker="." if len(rows) < 30 else None, markersize=3)
                panel.fill_between(hours, (values - errors)[rows], (values + errors)[rows], color=colour, alpha=0.3, linewidth=0)
                continue
            for axis, (words, (colour, dash)) in enumerate(zip(["east", "north", "up"], CURVES)):
                panel.plot(hours, values[rows, axis], dash, color=colour, label=words if number == 0 else None)
        panel.set_ylabel(label)
        panel.grid(linewidth=0.3)
        if errors is None:
            panel.legend(ncols=3, frameon=False)
        else:
            panel.set_ylim(bottom=0)
    if many:
        axes[0].legend(ncols=4, frameon=False, fontsize=6)
    axes[-1].set_xlabel("hour of the site's clock")
    headed(figure, title, "" if many else next(iter(days)))
    return figure


def alike(found):
    """Curves [(label, size, share, spread)] sorted into panels: an error that hardly costs anything is followed far out
    and would squeeze the others, so a panel's curves reach at most three times as far as its shortest."""
    panels = []
    for curve in sorted(found, key=lambda one: abs(one[1]).max()):
        for panel in panels:
            if abs(curve[1]).max() <= 3 * abs(panel[0][1]).max():
                panel.append(curve)
                break
        else:
            panels.append([curve])
    return panels


def tolerance_figure(result, title):
    curves = [
        (component, error)
        for component in result.under("/tolerance/")
        if component != "lost_share"
        for error in result.under(f"/tolerance/{component}/")
    ]
    if not curves:
        return None
    words = {"mrad": "mrad", "mm": "mm", "percent": "%", "per_km": "1/km"}  # by the ending of the sizes' name
    used = []
    for unit in words:
        found = []
        for component, error in curves:
            group = f"/tolerance/{component}/{error}/"
            if f"error_{unit}" in result.under(group):
                share = group + "absorbed_share"
                label = f"{component}: {error.replace('_', ' ')}"
                found.append((label, result[group + f"error_{unit}"], result[share], result.error(share)))
        used += [(unit, panel) for panel in alike(found)]
    columns = min(3, len(used))
    rows = -(-len(used) // columns)
    figure, axes = pyplot.subplots(
        rows, columns, figsize=(2.7 * columns + 0.4, 2.5 * rows + 0.4), sharey=True, squeeze=False
    )
    for left_over in axes.flat[len(used) :]:
        left_over.remove()
    for panel, (unit, found) in zip(axes.flat, used):
        for (label, size, share, spread), (colour, dash) in zip(found, CURVES * len(found)):
            panel.plot(size, share, dash, color=colour, label=label)
            panel.fill_between(size, share - spread, share + spread, color=colour, alpha=0.25, linewidth=0)
        panel.set_xlabel(f"error ({words[unit]})")
        panel.grid(linewidth=0.3)
        panel.legend(frameon=False, fontsize=6)
    for row in axes:
        row[0].set_ylabel("absorbed power / that without")
    headed(figure, title)
    return figure


def figures_of(result, around_m):
    """Pairs of what a figure shows, which goes into its name, and a function that draws it."""
    title = result.attributes.get("title", "")
    receivers = result.under("/receivers/")
    named = lambda words, name: words if len(receivers) == 1 else f"{words}-{name}"
    terms = list(result["/budget/term"])
    power, error = result["/budget/power_W"], result.error("/budget/power_W")
    if result.attributes.get("content") == "schedule":
        suns = len(power)
        mean, mean_error = (numpy.array(result.attribute("/budget/power_W", what), float) for what in ("mean", "mean_error"))
        note = "one sun" if suns == 1 else f"mean of the {suns} suns"
        yield "day", lambda: day_figure(result, title)
        yield "budget", lambda: budget_figure(terms, mean, mean_error, title, note)
        yield "tolerance", lambda: tolerance_figure(result, title)
        return
    yield "budget", lambda: budget_figure(terms, power, error, title)
    for name in receivers:
        flux = result[f"/receivers/{name}/flux_W_m2"]
        if numpy.nanmax(flux, initial=0) > 0:
            yield named("flux", name), lambda name=name: flux_figure(result, name, around_m.get(name), title)
        if f"/receivers/{name}/enclosed/radius_m" in result:
            yield named("intercept", name), lambda name=name: intercept_figure(result, name, title)


def plain(found):
    """The same with what no XML may hold, nor a font shows, written as \\u001b: control characters and the like."""
    if isinstance(found, str):
        return re.sub("[\0-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]", lambda match: f"\\u{ord(match[0]):04x}", found)
    if isinstance(found, dict):
        return {plain(key): plain(value) for key, value in found.items()}
    return [plain(value) for value in found] if isinstance(found, list) else found


def main():
    job = plain(json.load(sys.stdin.buffer))
    drawn = []
    for words, draw in figures_of(Result(job["data"]), job["around_m"]):
        figure = draw()
        if figure is None:
            continue
        content = io.BytesIO()
        metadata = {"png": None, "svg": {"Date": None}, "pdf": {"CreationDate": None}}[job["format"]]
        figure.savefig(content, format=job["format"], metadata=metadata)
        pyplot.close(figure)
        drawn.append((words, content.getvalue()))
    for words, content in drawn:
        sys.stdout.buffer.write(f"{len(content)} {words}\n".encode() + content)
    sys.stdout.flush()


main()
