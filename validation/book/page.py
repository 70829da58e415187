"""The table as CSV and Markdown, and one page that holds everything, plots included."""

import base64
import csv
import html
import io

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


def picture(figure):
    held = io.BytesIO()
    figure.savefig(held, format="png", dpi=110)
    return "data:image/png;base64," + base64.b64encode(held.getvalue()).decode()


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
body { font: 16px/1.5 system-ui, sans-serif; max-width: 76rem; margin: 2rem auto; padding: 0 1rem; color: #1b1b1b; }
table { border-collapse: collapse; width: 100%; margin: 0.5rem 0 1rem; font-size: 0.85rem; }
th, td { text-align: left; padding: 0.15rem 0.6rem; border-bottom: 1px solid #ddd; vertical-align: top; }
td.n { font-variant-numeric: tabular-nums; white-space: nowrap; }
.bad { color: #a00; font-weight: 700; } .good { color: #060; }
img { max-width: 100%; } figure { margin: 1rem 0; } figcaption { color: #444; }
p.meta { margin: 0.2rem 0; }
"""


def write_page(folder, cases, z_scores, chance, verdict_line, seconds):
    say = html.escape
    out = [f"<!doctype html><html lang='en'><meta charset='utf-8'><title>Validation book</title><style>{STYLE}</style>"]
    out.append("<h1>Validation book</h1>")
    out.append(f"<p><b>{say(verdict_line)}</b> {seconds:.0f} s.</p><ul>")
    for case in cases:
        word = "<span class='good'>agrees</span>" if case.passed else "<span class='bad'>DISAGREES</span>"
        out.append(f"<li><a href='#{case.name}'>{say(case.module.title)}</a>: {word}, {len(case.rows)} quantities</li>")
    out.append("</ul><h2>All z-scores together</h2>")
    if chance is None:
        out.append(f"<p>Fewer than {verdict.FEWEST} independent z-scores: not tested.</p>")
    else:
        out.append(
            f"<p>One z-score a run of the engine, {len(z_scores)} in all, against a standard normal: "
            f"Kolmogorov-Smirnov p = {chance:.3f}; less than {verdict.WHOLE_BOOK_LEVEL} is a failure.</p>"
            f"<img alt='distribution of z' src='{picture(figure_of_z(z_scores))}'>"
        )
    for case in cases:
        out.append(f"<h2 id='{case.name}'>{say(case.module.title)}</h2>")
        for word, text in (
            ("Reference", case.module.source),
            ("Known", case.module.known),
            ("Tolerance", case.module.tolerance),
        ):
            out.append(f"<p class='meta'><b>{word}:</b> {say(text)}</p>")
        out += [f"<p>{say(note)}</p>" for note in case.notes]
        for caption, figure in case.figures:
            out.append(
                f"<figure><img alt='{say(caption, True)}' src='{picture(figure)}'>"
                f"<figcaption>{say(caption)}</figcaption></figure>"
            )
        out.append("<table><tr><th>quantity<th>expected<th>got<th>standard error<th>z<th>verdict</tr>")
        for row in case.rows:
            _, quantity, expected, got, error, z, word, source, known = cells(row)
            own = "" if row.source == case.module.source else f" <small>({say(source)}; {say(known)})</small>"
            css = "good" if row.passed else "bad"
            out.append(
                f"<tr><td>{say(quantity)}{own}<td class='n'>{say(expected)}<td class='n'>{got}<td class='n'>{error}"
                f"<td class='n'>{z}<td class='{css}'>{word}</tr>"
            )
        out.append("</table>")
    (folder / "index.html").write_text("\n".join(out) + "</html>\n", encoding="utf-8")
