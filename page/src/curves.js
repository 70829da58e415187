// Line charts with error bands, all made the same way, with a legend whose dashes tell the curves apart without colour.
import * as Plot from "@observablehq/plot";
import { lookOf } from "./colours.js";
import { drawnToWidth, h, svg } from "./dom.js";

/// `lines`: [{ name, points: [{ x, y, e }] }]; `x` and `y`: options of Plot's scales, with a label. `mark`: a function
/// that gives the x of a vertical line, or nothing. `dots`: the points themselves are drawn too. `joined`: a line goes
/// through the points; not where x is words, between which there is nothing.
export function curveChart({ name, lines, x, y, mark, dots, height = 240, marginBottom = 44, note, joined = x.type !== "point" }) {
  const box = h("div", { class: "picture" });
  const most = lines.flatMap((line) => line.points).reduce((top, p) => Math.max(top, Math.abs(p.y) || 0), 0);
  const marginLeft = Math.max(56, 22 + 7 * Math.round(most).toLocaleString("en").length); // room for the longest tick
  const draw = (width) => {
    const wide = Math.min(width, 900),
      at = mark?.();
    const chart = Plot.plot({
      width: wide,
      height,
      marginLeft,
      marginBottom,
      marginRight: 20,
      style: { fontSize: "12px" },
      x: { labelOffset: marginBottom - 8, ...x }, // room for what hangs below a line of text
      y: { grid: true, ...y },
      marks: [
        lines.map((line, i) => [
          joined &&
            line.points.some((p) => p.e > 0) &&
            Plot.areaY(line.points, {
              x: "x",
              y1: (p) => p.y - p.e,
              y2: (p) => p.y + p.e,
              fill: lookOf(i).colour,
              fillOpacity: 0.22,
            }),
          joined && Plot.lineY(line.points, {
            x: "x",
            y: "y",
            stroke: lookOf(i).colour,
            strokeWidth: 1.8,
            strokeDasharray: lookOf(i).dash,
          }),
          (dots || line.points.length === 1) &&
            Plot.dot(line.points, { x: "x", y: "y", fill: lookOf(i).colour, r: 2.5 }),
          dots &&
            Plot.ruleX(line.points, {
              x: "x",
              y1: (p) => p.y - p.e,
              y2: (p) => p.y + p.e,
              stroke: lookOf(i).colour,
            }),
        ]),
        at !== undefined && Plot.ruleX([at], { stroke: "var(--accent)", strokeDasharray: "3 3" }),
        Plot.tip(
          lines.flatMap((line) => line.points.map((p) => ({ ...p, line: line.name }))),
          Plot.pointer({
            x: "x",
            y: "y",
            title: (p) =>
              (lines.length > 1 ? `${p.line}\n` : "") +
              `${p.label ?? p.x}: ${p.y.toPrecision(5)}` +
              (p.e > 0 ? ` \u00b1 ${p.e.toPrecision(2)}` : ""),
          }),
        ),
      ]
        .flat(2)
        .filter(Boolean),
    });
    chart.setAttribute("role", "img");
    chart.setAttribute("aria-label", `${name}; the numbers are in the table below it`);
    return [legend(lines), chart];
  };
  const again = drawnToWidth(box, draw);
  const whole = h(
    "figure",
    { class: "curves", "data-chart": name },
    h("figcaption", {}, name),
    box,
    numbersOf(lines, x, y),
    note && h("p", { class: "note" }, note),
  );
  whole.again = again;
  return whole;
}

function legend(lines) {
  if (lines.length < 2) return [];
  return h(
    "ul",
    { class: "legend" },
    lines.map((line, i) =>
      h(
        "li",
        {},
        svg(
          "svg",
          { width: 30, height: 10, "aria-hidden": "true" },
          svg("line", {
            x1: 0,
            x2: 30,
            y1: 5,
            y2: 5,
            stroke: lookOf(i).colour,
            "stroke-width": 2,
            "stroke-dasharray": lookOf(i).dash,
          }),
        ),
        line.name,
      ),
    ),
  );
}

/// The same numbers as a table, closed until somebody opens it.
function numbersOf(lines, x, y) {
  const most = 1000;
  const rows = lines.flatMap((line) => line.points.map((p) => [line.name, p.label ?? p.x, p.y, p.e]));
  if (rows.length > most) return null;
  const cell = (v) =>
    typeof v === "number"
      ? Number.isFinite(v)
        ? String(Number(v.toPrecision(6)))
        : "not defined"
      : v instanceof Date
        ? v.toISOString()
        : v;
  return h(
    "details",
    {},
    h("summary", {}, "numbers"),
    h(
      "table",
      { class: "plain" },
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          lines.length > 1 && h("th", { scope: "col" }, "curve"),
          h("th", { scope: "col" }, x.label ?? ""),
          h("th", { scope: "col" }, y.label ?? "value"),
          h("th", { scope: "col" }, "standard error"),
        ),
      ),
      h(
        "tbody",
        {},
        rows.map(([name, ...rest]) =>
          h(
            "tr",
            {},
            lines.length > 1 && h("td", {}, name),
            rest.map((v) => h("td", { class: "number" }, v === undefined ? "" : cell(v))),
          ),
        ),
      ),
    ),
  );
}
