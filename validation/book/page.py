"""The table as CSV and Markdown, and one page that holds everything, plots included. Each figure is also a vector file,
and its curves a CSV, beside the page."""

import csv
import html
import io
import re

import numpy as np

from . import verdict

COLUMNS = ("case", "quantity", "expected", "got", "standard error", "z", "verdict", "source", "how the source is known")


def cells(row):
    got = f"{row.got:.7g}"
    error = f"{row.standard_error:.2g}" if row.standard_error else ""
    z = "" if np.isnan(row.z) else f"{row.z:+.2f}"
    return (
        row.case,
        row.quantity,
        row.expected,
        got,
        error,
        z,
        "agrees" if row.passed else "DISAGREES",
        row.source,
        row.known,
    )


def write_tables(folder, rows):
    with open(folder / "table.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        writer.writerows(cells(row) for row in rows)
    lines = ["| " + " | ".join(COLUMNS) + " |", "|" + "---|" * len(COLUMNS)]
    lines += ["| " + " | ".join(str(cell).replace("|", "\\|") for cell in cells(row)) + " |" for row in rows]
    (folder / "table.md").write_text("\n".join(lines) + "\n", encoding="utf-8")


def curves(figure):
    """What a figure draws: [(curve, x, y, error of y or None)], in the order of drawing."""
    from matplotlib.container import ErrorbarContainer

    out = []
    for axes in figure.axes:
        bars = [c for c in axes.containers if isinstance(c, ErrorbarContainer)]
        owned = {id(line) for c in bars for line in (c.lines[0], *c.lines[1]) if line is not None}
        for bar in bars:
            x, y = bar.lines[0].get_data() if bar.lines[0] is not None else ([], [])
            segments = bar.lines[2][0].get_segments() if bar.lines[2] else []
            reach = [abs(s[1][1] - s[0][1]) / 2 if len(s) == 2 else float("nan") for s in segments]
            out.append((bar.get_label(), x, y, reach or None))
        for line in axes.get_lines():
            if id(line) not in owned:
                out.append((line.get_label(), *line.get_data(), None))
        for step in axes.patches:
            if hasattr(step, "get_data") and hasattr(step.get_data(), "edges"):
                values, edges, _ = step.get_data()
                out.append((step.get_label(), (edges[1:] + edges[:-1]) / 2, values, None))
    return [(f"curve {k + 1}" if str(name).startswith("_") else name, x, y, e) for k, (name, x, y, e) in enumerate(out)]


def save_figure(folder, name, figure):
    """Writes NAME.svg and NAME.csv; the drawing itself is returned, for the page."""
    figure.savefig(folder / f"{name}.svg", metadata={"Date": None})
    with open(folder / f"{name}.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        labels = [(axes.get_xlabel(), axes.get_ylabel()) for axes in figure.axes][:1] or [("x", "y")]
        writer.writerow(("curve", labels[0][0] or "x", labels[0][1] or "y", "half length of the error bar"))
        for curve, x, y, e in curves(figure):
            for k in range(len(x)):
                writer.writerow((curve, f"{x[k]:.9g}", f"{y[k]:.9g}", "" if e is None else f"{e[k]:.3g}"))
    held = io.StringIO()
    # Marks inside a drawing are found by name: names of their own for each, since the page holds many.
    import matplotlib

    with matplotlib.rc_context({"svg.hashsalt": name}):
        figure.savefig(held, format="svg", metadata={"Date": None})
    drawing = held.getvalue()
    drawing = drawing[drawing.index("<svg") :]
    names = set(re.findall(r'id="([^"]+)"', drawing))
    return re.sub(
        r'(id="|url\(#|href="#)([^")]+)', lambda m: m[1] + (f"{name}-{m[2]}" if m[2] in names else m[2]), drawing
    )


def figure_of_z(z_scores):
    from matplotlib.figure import Figure
    from scipy import stats

    figure = Figure(figsize=(7, 4), layout="constrained")
    axes = figure.subplots()
    ordered = np.sort(z_scores)
    axes.step(ordered, np.arange(1, len(ordered) + 1) / len(ordered), where="post", label=f"{len(ordered)} z-scores")
    grid = np.linspace(-4, 4, 200)
    axes.plot(grid, stats.norm.cdf(grid), "k--", label="standard normal")
    axes.set(xlabel="z", ylabel="share below")
    axes.legend()
    return figure


STYLE = """
:root { color-scheme: light dark; }
body { font: 16px/1.5 system-ui, sans-serif; max-width: 76rem; margin: 2rem auto; padding: 0 1rem; color: #1b1b1b; background: #fff; }
table { border-collapse: collapse; width: 100%; margin: 0.5rem 0 1rem; font-size: 0.85rem; }
th, td { text-align: left; padding: 0.15rem 0.6rem; border-bottom: 1px solid #ddd; vertical-align: top; }
td.n { font-variant-numeric: tabular-nums; white-space: nowrap; }
.bad { color: #a00; font-weight: 700; } .good { color: #060; }
.wide { overflow-x: auto; }
svg { max-width: 100%; height: auto; background: #fff; } figure { margin: 1rem 0; } figcaption { color: #444; }
p.meta { margin: 0.2rem 0; overflow-wrap: anywhere; }
@media (prefers-color-scheme: dark) {
  body { color: #e6e4df; background: #14171a; } a { color: #8cc4ff; }
  th, td { border-color: #3a3f44; } figcaption { color: #b5b2ab; } .bad { color: #ff8080; } .good { color: #7fd08a; }
}
"""


def shown(folder, name, figure, caption):
    say = html.escape
    return (
        f"<figure role='img' aria-label='{say(caption, True)}'>{save_figure(folder, name, figure)}<figcaption>"
        f"{say(caption)} (<a href='{name}.svg'>SVG</a>, <a href='{name}.csv'>numbers</a>)</figcaption></figure>"
    )


def write_page(folder, cases, z_scores, chance, verdict_line, facts):
    say = html.escape
    out = [
        "<!doctype html><html lang='en'><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>Validation book</title><style>{STYLE}</style>"
    ]
    out.append("<h1>Validation book</h1>")
    out.append(f"<p><b>{say(verdict_line)}</b></p>")
    out += [f"<p class='meta'><b>{say(word)}:</b> {say(text)}</p>" for word, text in facts]
    out.append("<ul>")
    for case in cases:
        word = "<span class='good'>agrees</span>" if case.passed else "<span class='bad'>DISAGREES</span>"
        out.append(f"<li><a href='#{case.name}'>{say(case.module.title)}</a>: {word}, {len(case.rows)} quantities</li>")
    out.append("</ul><h2>All z-scores together</h2>")
    if chance is None:
        out.append(f"<p>There are fewer than {verdict.FEWEST} independent z-scores, too few for this test.</p>")
    else:
        out.append(
            f"<p>Each run of the engine gives one z-score, {len(z_scores)} in all. Their distribution is compared with "
            f"a standard normal. The Kolmogorov-Smirnov test gives p = {chance:.3f}; less than "
            f"{verdict.WHOLE_BOOK_LEVEL} is a failure.</p>"
            + shown(
                folder,
                "z-scores",
                figure_of_z(z_scores),
                "Share of the independent z-scores below z (steps) and the standard normal distribution (dashed)",
            )
        )
    for case in cases:
        out.append(f"<h2 id='{case.name}'>{say(case.module.title)}</h2>")
        for word, text in (
            ("Reference", case.module.source),
            ("How the reference is known", case.module.known),
            ("Tolerance", case.module.tolerance),
        ):
            out.append(f"<p class='meta'><b>{word}:</b> {say(text)}</p>")
        out += [f"<p>{say(note)}</p>" for note in case.notes]
        for k, (caption, figure) in enumerate(case.figures, 1):
            out.append(shown(folder, f"{case.name}-{k}", figure, caption))
        out.append("<div class='wide'><table><tr><th>quantity<th>expected<th>got<th>standard error<th>z<th>verdict</tr>")
        for row in case.rows:
            _, quantity, expected, got, error, z, word, source, known = cells(row)
            own = "" if row.source == case.module.source else f" <small>({say(source)}; {say(known)})</small>"
            css = "good" if row.passed else "bad"
            out.append(
                f"<tr><td>{say(quantity)}{own}<td class='n'>{say(expected)}<td class='n'>{got}<td class='n'>{error}"
                f"<td class='n'>{z}<td class='{css}'>{word}</tr>"
            )
        out.append("</table></div>")
    (folder / "index.html").write_text("\n".join(out) + "</html>\n", encoding="utf-8")
