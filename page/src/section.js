// The scene cut by an upright plane: what every drawing of a concentrator shows. Components are cut exactly, mesh by
// mesh; rays near the plane are laid into it. Dimensions stand in a table beside, and the drawing can be saved as SVG.
import * as Plot from "@observablehq/plot";
import { fates } from "./colours.js";
import { choice, drawnToWidth, h, slider, svg } from "./dom.js";
import { plain } from "./numbers.js";
import { matrixOf } from "./space_components.js";

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const unit = (a) => a.map((x) => x / Math.hypot(...a));

/// A component's points in the world, for copy i; flat, three numbers each.
function placedPoints(component, copies, i) {
  const m = matrixOf(copies, i).elements, // by columns
    from = component.points_m,
    out = new Float64Array(from.length);
  for (let k = 0; k < from.length; k += 3)
    for (let axis = 0; axis < 3; ++axis)
      out[k + axis] = m[axis] * from[k] + m[4 + axis] * from[k + 1] + m[8 + axis] * from[k + 2] + m[12 + axis];
  return out;
}

/// Where the plane meets the triangles: [[u1, v1, u2, v2], …].
function cutMesh(points, triangles, plane) {
  const heights = new Float64Array(points.length / 3),
    out = [];
  for (let k = 0; k < heights.length; ++k)
    heights[k] =
      plane.normal[0] * (points[3 * k] - plane.through[0]) +
      plane.normal[1] * (points[3 * k + 1] - plane.through[1]) +
      plane.normal[2] * (points[3 * k + 2] - plane.through[2]);
  for (let t = 0; t < triangles.length; t += 3) {
    const ends = [];
    for (let side = 0; side < 3; ++side) {
      const a = triangles[t + side],
        b = triangles[t + ((side + 1) % 3)];
      if (heights[a] >= 0 === heights[b] >= 0) continue; // a corner on the plane counts as above: no side twice
      const share = heights[a] / (heights[a] - heights[b]);
      const at = [0, 1, 2].map((axis) => points[3 * a + axis] + share * (points[3 * b + axis] - points[3 * a + axis]));
      ends.push(...plane.onto(at));
    }
    if (ends.length === 4) out.push(ends);
  }
  return out;
}

/// An upright plane through `through` that holds the horizontal direction `along`.
function uprightPlane(through, along) {
  const u = unit([along[0], along[1], 0]),
    normal = cross(u, [0, 0, 1]);
  return {
    through,
    normal,
    along: u,
    onto: (p) => [dot(minus(p, through), u), p[2]],
    away: (p) => dot(minus(p, through), normal),
  };
}

/// The middle of what a component's first copy occupies.
function middleOf(component, copies) {
  const points = placedPoints(component, copies, 0),
    low = [Infinity, Infinity, Infinity],
    high = [-Infinity, -Infinity, -Infinity];
  for (let k = 0; k < points.length; ++k) {
    low[k % 3] = Math.min(low[k % 3], points[k]);
    high[k % 3] = Math.max(high[k % 3], points[k]);
  }
  return low.map((x, axis) => (x + high[axis]) / 2);
}

/// Size along the component's own axes, m.
function sizeOf(component) {
  return [0, 1, 2].map((axis) => {
    const values = component.points_m.filter((_, k) => k % 3 === axis);
    return values.reduce((top, v) => Math.max(top, v), -Infinity) - values.reduce((low, v) => Math.min(low, v), Infinity);
  });
}

/// The words of a component: "primary bowl (sphere)".
export function nameWords(component) {
  return `${component.role} ${component.name}, ${component.shape}`;
}

function sizeTable(view) {
  return h(
    "table",
    { class: "plain sizes" },
    h("caption", {}, "Size along each component's own axes; the third is the one that it faces along."),
    h(
      "thead",
      {},
      h("tr", {}, ["component", "x (m)", "y (m)", "z (m)", "copies"].map((text) => h("th", { scope: "col" }, text))),
    ),
    h(
      "tbody",
      {},
      view.components.map((component) =>
        h(
          "tr",
          { "data-component": component.name },
          h("th", { scope: "row" }, nameWords(component)),
          sizeOf(component).map((x) => h("td", { class: "number" }, plain(x, 4))),
          h("td", { class: "number" }, String(component.copies.length / 12)),
        ),
      ),
    ),
  );
}

const inks = {
  primary: "var(--curve-1)",
  secondary: "var(--curve-4)",
  receiver: "var(--curve-2)",
  cover: "var(--curve-3)",
};
const inkOf = (component) => inks[component.role] ?? "currentColor";

/// The drawing as a file of its own: colours that CSS gives are written out.
function saveDrawing(drawing, name) {
  const copy = drawing.cloneNode(true),
    originals = [drawing, ...drawing.querySelectorAll("*")];
  [copy, ...copy.querySelectorAll("*")].forEach((element, i) => {
    const seen = getComputedStyle(originals[i]);
    for (const property of ["stroke", "fill", "stroke-width", "stroke-opacity", "stroke-dasharray", "font-size"])
      element.setAttribute(property, seen.getPropertyValue(property));
  });
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("font-family", "sans-serif");
  const link = h("a", {
    href: URL.createObjectURL(new Blob([new XMLSerializer().serializeToString(copy)], { type: "image/svg+xml" })),
    download: name,
  });
  link.click();
  URL.revokeObjectURL(link.href);
}

/// `paths`: [{ fate, points }], may be empty. The element has `showRow(i)` for a schedule.
export function sectionDrawing(view, paths) {
  const receiver = view.components.find((c) => c.role === "receiver") ?? view.components[0];
  if (!receiver) return undefined;
  const box = h("div", { class: "picture" }),
    said = h("p", { class: "note" });
  let row,
    shown = 0,
    slab = 2; // place of the slider
  const slabs = [0.01, 0.02, 0.05, 0.1, 0.2, 1]; // of the scene's reach
  const reach = Math.max(Math.hypot(...minus(view.high_m, view.low_m)) / 2, 1e-6);
  const copiesOf = (c) => (row !== undefined && view.rows?.[row].copies[c]) || view.components[c].copies;
  const toSun = () => (row !== undefined && view.rows ? view.rows[row].to_sun : view.to_sun);
  const planes = [
    ["toward the sun", () => (Math.hypot(toSun()[0], toSun()[1]) > 1e-3 ? toSun() : [1, 0, 0])],
    ["east to west", () => [1, 0, 0]],
    ["south to north", () => [0, 1, 0]],
  ];

  let drawing;
  const draw = (width) => {
    const plane = uprightPlane(middleOf(receiver, copiesOf(view.components.indexOf(receiver))), planes[shown][1]());
    const cuts = view.components.map((component, c) => {
      const copies = copiesOf(c),
        lines = [];
      for (let i = 0; i < copies.length / 12; ++i)
        lines.push(...cutMesh(placedPoints(component, copies, i), component.triangles, plane));
      return { component, lines };
    });
    const ends = cuts.flatMap(({ lines }) => lines.flatMap(([a, b, c, d]) => [[a, b], [c, d]]));
    if (ends.length === 0) {
      said.textContent = "This plane meets no component.";
      return [];
    }
    const span = (axis) =>
      ends.reduce(([low, high], p) => [Math.min(low, p[axis]), Math.max(high, p[axis])], [Infinity, -Infinity]);
    const [u1, u2] = span(0),
      [v1, v2] = span(1);
    const room = 0.12 * Math.max(u2 - u1, v2 - v1, 1e-6);
    const near = slabs[slab] * reach;
    // The way in from the sun and the way out are long: what lies outside the drawing is cut off.
    const rays = paths
      .filter(({ points }) => points.slice(1, -1).some((p) => Math.abs(plane.away(p)) <= near))
      .map(({ fate, points }) => ({ fate, points: points.map(plane.onto) }));
    const wide = Math.min(width, 900),
      inner = wide - 66;
    const ratio = (v2 - v1 + 2 * room) / (u2 - u1 + 2 * room),
      tall = Math.min(inner * ratio, 640),
      across = tall / ratio;
    const sun = [dot(toSun(), plane.along), toSun()[2]];
    drawing = Plot.plot({
      width: Math.round(across) + 66,
      height: Math.round(tall) + 62,
      marginLeft: 52,
      marginRight: 14,
      marginTop: 16,
      marginBottom: 46,
      style: { fontSize: "12px", overflow: "hidden" },
      x: { domain: [u1 - room, u2 + room], label: `along the plane, ${planes[shown][0]} (m)`, labelOffset: 38 },
      y: { domain: [v1 - room, v2 + room], label: "height (m)", grid: true },
      marks: [
        rays.map(({ fate, points }) =>
          Plot.line(points, { stroke: fates[fate]?.colour ?? "#888888", strokeWidth: 0.8, strokeOpacity: 0.8, clip: true }),
        ),
        cuts.map(({ component, lines }) =>
          Plot.link(lines, {
            x1: (d) => d[0],
            y1: (d) => d[1],
            x2: (d) => d[2],
            y2: (d) => d[3],
            stroke: inkOf(component),
            strokeWidth: 2.6,
            strokeLinecap: "round",
          }),
        ),
        Plot.text(
          cuts
            .filter(({ lines }) => lines.length > 0)
            .map(({ component, lines }) => {
              const top = lines.reduce((best, line) => (line[1] > best[1] ? line : best));
              return { component, x: top[0], y: top[1] };
            }),
          {
            x: "x",
            y: "y",
            text: (d) => d.component.name,
            fill: (d) => inkOf(d.component),
            stroke: "var(--paper, white)",
            strokeWidth: 4,
            dy: -9,
            fontWeight: 600,
          },
        ),
        Plot.arrow([0], {
          x1: u1 - 0.45 * room + 0.4 * room * sun[0],
          y1: v2 + 0.5 * room + 0.4 * room * sun[1],
          x2: u1 - 0.45 * room - 0.4 * room * sun[0],
          y2: v2 + 0.5 * room - 0.4 * room * sun[1],
          stroke: "var(--sun)",
          strokeWidth: 2.5,
        }),
        Plot.frame({ stroke: "currentColor", strokeOpacity: 0.4 }),
      ].flat(),
    });
    drawing.setAttribute("role", "img");
    drawing.setAttribute("aria-label", `Section of ${view.title || "the scene"}, ${planes[shown][0]}`);
    drawing.classList.add("section");
    said.textContent =
      `The plane is upright and passes through the middle of ${receiver.name}. ` +
      (paths.length > 0
        ? `${rays.length} of ${paths.length} rays touch something within ${plain(near, 3)} m of it; they are laid into it. `
        : "") +
      "The yellow arrow is the sun's light. Rays have the colours of the view in space.";
    return drawing;
  };
  const again = drawnToWidth(box, draw);
  const whole = h(
    "div",
    { class: "section-drawing" },
    choice({
      label: "plane",
      options: planes.map(([words]) => words),
      onchange: (i) => {
        shown = i;
        again();
      },
    }),
    paths.length > 0 &&
      slider({
        label: "rays shown",
        count: slabs.length,
        start: slab,
        words: (i) => (slabs[i] === 1 ? "all" : `within ${plain(slabs[i] * reach, 3)} m of the plane`),
        onchange: (i) => {
          slab = i;
          again();
        },
      }),
    box,
    h("p", {}, h("button", { type: "button", onclick: () => drawing && saveDrawing(drawing, "section.svg") }, "save section.svg")),
    said,
    sizeTable(view),
  );
  whole.showRow = (i) => {
    row = i;
    again();
  };
  return whole;
}
