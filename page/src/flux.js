// A receiver's flux map: the picture with contour lines and peak, its colour bar, and cuts through the bin under the
// pointer.
import * as Plot from "@observablehq/plot";
import { interpolateInferno, scaleLinear } from "d3";
import { choice, drawnToWidth, h, svg } from "./dom.js";
import { plain, rounded, withError } from "./numbers.js";
import { mapOf, unrolled } from "./unroll.js";

const kilowatt = 1000;
const finite = (values) => values.filter(Number.isFinite);
const largest = (values) => values.reduce((most, v) => (v > most ? v : most), 0); // NaN is larger than nothing

/// "0.5236 rad" of bin i on an axis, in the file's own unit.
function placeWords(map, axis, i) {
  const middle = (map.edges[axis][i] + map.edges[axis][i + 1]) / 2;
  const [name, unit] = map.axes[axis].split(/_(?=[^_]*$)/);
  if (unit === "rad") return `${name} ${plain((middle * 180) / Math.PI, 4)}\u00b0`;
  return `${name} ${plain(middle, 4)} ${unit}`;
}

function colourBar(top, dni, title, width) {
  const wide = Math.min(width - 60, 420),
    x = scaleLinear([0, top], [0, wide]);
  const suns = scaleLinear([0, (top * kilowatt) / dni], [0, wide]);
  const ticks = (scale, y, dy, anchor) =>
    scale
      .ticks(5)
      .map((t) => [
        svg("line", { x1: scale(t), x2: scale(t), y1: y, y2: y + dy, stroke: "currentColor" }),
        svg(
          "text",
          { x: scale(t), y: y + 2.4 * dy, "dominant-baseline": anchor, "text-anchor": t === 0 ? "start" : "middle" },
          plain(t),
        ),
      ]);
  const strips = Array.from({ length: 128 }, (_, i) =>
    svg("rect", {
      x: (wide * i) / 128,
      y: 24,
      width: wide / 128 + 0.5,
      height: 12,
      fill: interpolateInferno((i + 0.5) / 128),
    }),
  );
  return svg(
    "svg",
    {
      class: "colour-bar",
      width: wide + 70,
      height: 62,
      viewBox: `-6 0 ${wide + 70} 62`,
      role: "img",
      "aria-label":
        `Colours run from 0 to ${plain(top, 4)} kW/m², that is ` + `${plain((top * kilowatt) / dni, 4)} suns; ${title}`,
    },
    strips,
    ticks(x, 24, -5, "auto"),
    ticks(suns, 36, 5, "hanging"),
    svg("text", { x: wide + 8, y: 20 }, "kW/m²"),
    svg("text", { x: wide + 8, y: 50 }, "suns"),
  );
}

/// One cut: flux with its error band along an axis, with a mark where the pointer is.
function cut(map, axis, fixed, at, top, label, along, width) {
  const n = axis === 0 ? map.nx : map.ny;
  const points = Array.from({ length: n }, (_, k) => {
    const bin = axis === 0 ? k * map.ny + fixed : fixed * map.ny + k;
    return { x: along(k), y: map.flux[bin] / kilowatt, e: map.errors[bin] / kilowatt };
  });
  const chart = Plot.plot({
    width,
    height: 176,
    marginLeft: 48,
    marginBottom: 42,
    style: { fontSize: "12px" },
    x: { label, labelOffset: 34 },
    y: { label: "kW/m²", domain: [0, top], grid: true, ticks: 4 },
    marks: [
      Plot.areaY(points, {
        x: "x",
        y1: (p) => p.y - p.e,
        y2: (p) => p.y + p.e,
        fill: "var(--curve-1)",
        fillOpacity: 0.25,
        clip: true,
      }),
      Plot.lineY(points, { x: "x", y: "y", stroke: "var(--curve-1)", strokeWidth: 1.5 }),
      Plot.ruleX([along(at)], { stroke: "var(--accent)", strokeDasharray: "3 3" }),
      Plot.ruleY([0]),
    ],
  });
  chart.setAttribute("aria-hidden", "true"); // the numbers are said in words beside
  return chart;
}

/// The peak: its bin, of the irradiance.
function peakOf(map) {
  let best = -1;
  map.flux.forEach((v, bin) => {
    if (v > (best < 0 ? -Infinity : map.flux[best])) best = bin;
  });
  return best < 0 ? undefined : [Math.floor(best / map.ny), best % map.ny];
}

/// Writes each contour line's value onto it, in the middle of its longest piece, where no value stands yet.
function labelContours(chart, steps, height) {
  const lines = [...chart.querySelectorAll('[aria-label="contour"] path')];
  if (lines.length !== steps.length) return;
  const taken = [];
  lines.forEach((line, k) => {
    const pieces = (line.getAttribute("d") ?? "").split("M").filter(Boolean);
    const points = pieces
      .map((piece) => piece.split(/[LZ]/).filter(Boolean).map((pair) => pair.split(",").map(Number)))
      .reduce((longest, piece) => (piece.length > longest.length ? piece : longest), []);
    const free = points.filter(
      ([x, y]) => x > 70 && y > 30 && y < height - 54 && taken.every(([a, b]) => Math.abs(a - x) > 34 || Math.abs(b - y) > 13),
    );
    if (free.length < 8) return; // a spot too small to carry words
    const [x, y] = free[Math.floor(free.length / 2)];
    taken.push([x, y]);
    chart.append(
      svg(
        "text",
        {
          class: "contour-value",
          x,
          y,
          dy: "0.32em",
          "text-anchor": "middle",
          "font-size": 11,
          fill: "white",
          stroke: "black",
          "stroke-opacity": 0.7,
          "stroke-width": 3,
          "paint-order": "stroke",
          "pointer-events": "none",
        },
        plain(steps[k], 4),
      ),
    );
  });
}

/// `most`: the irradiance at the top of the colour scale in W/m2, where several maps share one; else the map's own.
export function fluxMap(file, receiver, most) {
  const map = mapOf(file, receiver);
  if (!map) return undefined;
  const sheet = unrolled(map),
    dni = file.dni,
    peak = peakOf(map);
  const top = (most ?? largest(map.flux)) / kilowatt || 1;
  let shown = 0,
    cursor = peak ?? [0, 0];

  const picture = h("div", { class: "picture" }),
    bar = h("div", {}),
    cuts = h("div", { class: "cuts" });
  const said = h("p", { class: "reading", "aria-live": "polite" });
  const ratio = (sheet.y2 - sheet.y1) / (sheet.x2 - sheet.x1);
  const stretch = ratio < 0.2 || ratio > 3;
  let chart, mark;

  const drawPicture = (width) => {
    const values = (shown === 0 ? map.flux : map.errors).map((v) => v / kilowatt);
    const most = shown === 0 ? top : largest(values) || 1;
    const grid = sheet.grid(values);
    // No taller than a screen.
    const inner = Math.min(width, 900, stretch ? 900 : 500 / ratio + 70) - 70;
    const steps = scaleLinear([0, most], [0, 1])
      .nice()
      .ticks(6)
      .filter((t) => t > 0 && t < most);
    const frame = { x1: sheet.x1, x2: sheet.x2, y1: sheet.y1, y2: sheet.y2, width: sheet.width, height: sheet.height };
    chart = Plot.plot({
      width: inner + 70,
      height: Math.round(stretch ? inner * 0.45 : inner * ratio) + 64,
      marginLeft: 54,
      marginRight: 16,
      marginTop: 20,
      marginBottom: 44,
      style: { fontSize: "12px" },
      x: { domain: [sheet.x1, sheet.x2], label: sheet.labels[0] },
      y: { domain: [sheet.y1, sheet.y2], label: sheet.labels[1] },
      color: { type: "linear", domain: [0, most], interpolate: interpolateInferno },
      marks: [
        Plot.raster(grid, { ...frame, imageRendering: "pixelated" }),
        shown === 0 &&
          Plot.contour(grid, {
            ...frame,
            blur: 1,
            thresholds: steps,
            stroke: "white",
            strokeOpacity: 0.75,
            strokeWidth: 1,
          }),
        peak && Plot.dot([sheet.at(...peak)], { symbol: "times", r: 6, stroke: "#00e5ff", strokeWidth: 2 }),
        Plot.frame({ stroke: "currentColor", strokeOpacity: 0.4 }),
      ].filter(Boolean),
    });
    const title = shown === 0 ? "irradiance that arrives" : "its standard error";
    for (const [name, value] of Object.entries({
      tabindex: 0,
      role: "img",
      class: `${chart.getAttribute("class") ?? ""} map`,
      "aria-label": `Flux map of ${receiver}: ${title}. Arrow keys move the cut from bin to bin.`,
    }))
      chart.setAttribute(name, value);
    if (shown === 0) labelContours(chart, steps, Number(chart.getAttribute("height")));
    mark = svg("g", { class: "mark", "pointer-events": "none" });
    chart.append(mark);
    chart.onpointermove = (event) => {
      const box = chart.getBoundingClientRect(),
        zoom = (inner + 70) / box.width;
      const x = chart.scale("x").invert((event.clientX - box.left) * zoom),
        y = chart.scale("y").invert((event.clientY - box.top) * zoom);
      const found = sheet.place(x, y);
      if (found) moveTo(found);
    };
    chart.onkeydown = (event) => {
      const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowDown: [0, -1], ArrowUp: [0, 1] }[event.key];
      if (event.key === "Home" && peak) moveTo(peak);
      else if (step)
        moveTo([
          Math.max(0, Math.min(map.nx - 1, cursor[0] + step[0])),
          Math.max(0, Math.min(map.ny - 1, cursor[1] + step[1])),
        ]);
      else return;
      event.preventDefault();
    };
    bar.replaceChildren(colourBar(most, dni, title, inner));
    placeMark();
    return chart;
  };

  const placeMark = () => {
    const [x, y] = sheet.at(...cursor),
      px = chart.scale("x").apply(x),
      py = chart.scale("y").apply(y);
    const line = (ends, style) => svg("line", { ...ends, ...style });
    const both = [
      { stroke: "black", "stroke-width": 2, "stroke-opacity": 0.5 },
      { stroke: "white", "stroke-width": 1, "stroke-dasharray": "4 3" },
    ];
    const [left, right] = chart.scale("x").range,
      [low, high] = chart.scale("y").range;
    mark.replaceChildren(
      ...both.flatMap((style) => [
        line({ x1: left, x2: right, y1: py, y2: py }, style),
        line({ x1: px, x2: px, y1: low, y2: high }, style),
      ]),
    );
  };

  const drawCuts = (width) => {
    const [i, j] = cursor,
      each = width > 640 ? Math.floor((width - 24) / 2) : width;
    const isFlat = map.axes[0] !== "azimuth_rad";
    const labels = isFlat ? ["x (m)", "y (m)"] : ["azimuth (°)", "height (m)"];
    const along = (axis) => (k) => {
      const middle = (map.edges[axis][k] + map.edges[axis][k + 1]) / 2;
      return axis === 0 && !isFlat ? (middle * 180) / Math.PI : middle;
    };
    return [
      h(
        "figure",
        { "data-cut": "first" },
        h("figcaption", {}, `cut at ${placeWords(map, 1, j)}`),
        cut(map, 0, j, i, top, labels[0], along(0), each),
      ),
      h(
        "figure",
        { "data-cut": "second" },
        h("figcaption", {}, `cut at ${placeWords(map, 0, i)}`),
        cut(map, 1, i, j, top, labels[1], along(1), each),
      ),
    ];
  };

  const sayWhere = () => {
    const place = `Here, ${placeWords(map, 0, cursor[0])}, ${placeWords(map, 1, cursor[1])}`;
    const bin = cursor[0] * map.ny + cursor[1];
    const here = { value: map.flux[bin] / kilowatt, error: map.errors[bin] / kilowatt };
    const suns = rounded({ value: (here.value * kilowatt) / dni, error: (here.error * kilowatt) / dni });
    said.textContent = Number.isFinite(here.value)
      ? `${place}: ${withError(here, "kW/m²")}, ${suns.value} suns`
      : `${place}: outside the receiver`;
    said.dataset.bin = cursor.join(" ");
  };

  const redrawPicture = drawnToWidth(picture, drawPicture),
    redrawCuts = drawnToWidth(cuts, drawCuts);
  const moveTo = (place) => {
    if (place[0] === cursor[0] && place[1] === cursor[1]) return;
    cursor = place;
    placeMark();
    redrawCuts();
    sayWhere();
  };
  sayWhere();

  return h(
    "div",
    { class: "flux", "data-receiver": receiver },
    choice({
      label: "shown",
      options: ["flux", "standard error"],
      onchange: (i) => {
        shown = i;
        redrawPicture();
      },
    }),
    picture,
    bar,
    said,
    cuts,
    h(
      "p",
      { class: "note" },
      `${sheet.how} ${stretch ? "The two axes have different scales. " : ""}The cross marks the peak bin, ` +
        "white lines join places of equal flux, whose values in kW/m² stand on them " +
        "(neighbouring bins are averaged for the lines, which keeps noise out of them). " +
        `Suns: times the DNI, ${plain(dni)} W/m². ` +
        "Bands are one standard error. Move the pointer over the map, or the arrow keys when it has the focus; " +
        "Home returns to the peak.",
    ),
    map.copies > 1 &&
      h("p", { class: "note" }, `The receiver stands in ${map.copies} places: the map is the mean of these copies.`),
    finite(map.flux).length === 0 && h("p", { class: "note" }, "No light arrived."),
  );
}
