// The scene in space: components in their true shapes, receivers painted with their flux, rays coloured by their fate,
// the sun, axes and a ground grid with its scale. Drawn only when something changed.
import * as THREE from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { fates } from "./colours.js";
import { componentMeshes, placeAll } from "./space_components.js";
import { arrow, groundGrid, label } from "./space_marks.js";
import { h, svg } from "./dom.js";
import { plain } from "./numbers.js";

const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/// Rays as one set of line segments a fate.
function rayLines(paths) {
  const byFate = new Map();
  for (const path of paths) {
    if (!byFate.has(path.fate)) byFate.set(path.fate, { count: 0, points: [] });
    const entry = byFate.get(path.fate);
    entry.count += 1;
    for (let i = 1; i < path.points.length; ++i) entry.points.push(...path.points[i - 1], ...path.points[i]);
  }
  return [...byFate].map(([fate, { count, points }]) => {
    const geometry = new THREE.BufferGeometry();
    geometry.setAttribute("position", new THREE.Float32BufferAttribute(points, 3));
    const material = new THREE.LineBasicMaterial({ color: fates[fate]?.colour ?? "#888888", transparent: true, opacity: fate === "absorbed" ? 0.55 : 0.75 });
    return { fate, count, lines: new THREE.LineSegments(geometry, material) };
  });
}

function fateLegend(rays, changed) {
  const total = rays.reduce((sum, ray) => sum + ray.count, 0);
  return h("fieldset", { class: "fates" }, h("legend", {}, `${total} rays, by where most of their power ended`),
    rays.map(({ fate, count, lines }) => h("label", {},
      h("input", { type: "checkbox", checked: true, onchange: (event) => { lines.visible = event.target.checked; changed(); } }),
      svg("svg", { width: 22, height: 10, "aria-hidden": "true" }, svg("line", { x1: 0, x2: 22, y1: 5, y2: 5, stroke: fates[fate]?.colour ?? "#888888", "stroke-width": 4 })),
      `${fates[fate]?.words ?? fate} (${count})`)));
}

/// `view`: { to_sun, components: [{ name, role, mesh, frames }], rows }; `paths`: [{ fate, points: [[x, y, z]] }];
/// `maps`: flux maps by receiver. The element has `showRow(i)` for a schedule.
export function sceneInSpace({ view, paths, maps, describe }) {
  const canvas = h("canvas", { tabindex: 0, role: "img", class: "space", "aria-label": `${describe}. Drag or use the arrow keys to turn, + and - to come nearer or go away.` });
  const box = h("div", { class: "space-box" }, canvas);
  let renderer;
  try {
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
  } catch {
    return h("p", { class: "note" }, "This browser draws no WebGL, so there is no view in space.");
  }
  renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
  const scene = new THREE.Scene();
  const parts = componentMeshes(view, maps);
  parts.forEach((part) => scene.add(part.group));
  placeAll(parts, view.components.map((component) => component.frames));

  const solid = new THREE.Box3();
  parts.forEach((part) => solid.union(part.bounds()));
  const middle = solid.getCenter(new THREE.Vector3()), reach = Math.max(solid.getSize(new THREE.Vector3()).length() / 2, 1e-3);
  const rays = rayLines(paths);
  rays.forEach((ray) => scene.add(ray.lines));

  // Marks stand outside what is shown, so that nothing is hidden.
  const marks = new THREE.Group(), sunMark = new THREE.Group();
  scene.add(marks, sunMark);
  const grid = groundGrid(solid, reach);
  const drawMarks = () => {
    marks.clear();
    const ink = css("--ink"), faint = css("--grid");
    marks.add(grid.lines(faint));
    const corner = grid.corner, length = reach * 0.28;
    [["east", [1, 0, 0]], ["north", [0, 1, 0]], ["up", [0, 0, 1]]].forEach(([name, way]) =>
      marks.add(arrow(corner, new THREE.Vector3(...way), length, ink), label(name, corner.clone().addScaledVector(new THREE.Vector3(...way), length * 1.2), reach * 0.075, ink)));
    drawSun();
  };
  let toSun = new THREE.Vector3(...view.to_sun);
  const drawSun = () => {
    sunMark.clear();
    const colour = css("--sun"), far = middle.clone().addScaledVector(toSun, reach * 1.45);
    const disc = new THREE.Mesh(new THREE.SphereGeometry(reach * 0.045, 24, 16), new THREE.MeshBasicMaterial({ color: colour }));
    disc.position.copy(far);
    sunMark.add(disc, arrow(far, toSun.clone().negate(), reach * 0.3, colour), label("to the sun", far.clone().add(new THREE.Vector3(0, 0, reach * 0.1)), reach * 0.075, css("--ink")));
    light.position.copy(middle).addScaledVector(toSun, reach * 4);
    light.target.position.copy(middle);
  };
  const light = new THREE.DirectionalLight("#ffffff", 1.6);
  scene.add(light, light.target, new THREE.HemisphereLight("#ffffff", "#8a8378", 1.7));

  const camera = new THREE.PerspectiveCamera(36, 1, reach / 200, reach * 60);
  camera.up.set(0, 0, 1);
  const controls = new OrbitControls(camera, canvas);
  controls.zoomToCursor = true;
  let asked = false;
  const changed = () => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => {
      asked = false;
      renderer.render(scene, camera);
      box.dataset.drawn = Number(box.dataset.drawn ?? 0) + 1;
    });
  };
  const lookFrom = (x, y, z) => {
    controls.target.copy(middle);
    const away = (reach * 1.25) / Math.sin((Math.PI / 180) * 18) / Math.min(1, camera.aspect);
    camera.position.copy(middle).addScaledVector(new THREE.Vector3(x, y, z).normalize(), away);
    controls.update();
    changed();
  };
  controls.addEventListener("change", changed);
  canvas.onkeydown = (event) => {
    const turn = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, -0.1], ArrowDown: [0, 0.1] }[event.key];
    const zoom = { "+": 0.85, "=": 0.85, "-": 1 / 0.85 }[event.key];
    if (!turn && !zoom) return;
    const from = camera.position.clone().sub(controls.target), round = new THREE.Spherical().setFromVector3(new THREE.Vector3(from.x, from.z, -from.y));
    if (turn) {
      round.theta += turn[0];
      round.phi = Math.max(0.01, Math.min(Math.PI - 0.01, round.phi + turn[1]));
    } else round.radius *= zoom;
    const to = new THREE.Vector3().setFromSpherical(round);
    camera.position.copy(controls.target).add(new THREE.Vector3(to.x, -to.z, to.y));
    controls.update();
    changed();
    event.preventDefault();
  };

  let placed = false;
  new ResizeObserver(([entry]) => {
    const width = Math.floor(entry.contentRect.width);
    if (width === 0) return;
    const height = Math.round(Math.min(width * 0.62, 620));
    renderer.setSize(width, height);
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
    if (!placed) lookFrom(0.75, -1, 0.45);
    placed = true;
    changed();
  }).observe(box);
  document.addEventListener("themechange", () => {
    drawMarks();
    changed();
  });
  drawMarks();

  const button = (words, act) => h("button", { type: "button", onclick: act }, words);
  const whole = h("div", { class: "in-space" }, box,
    h("div", { class: "buttons" },
      button("whole", () => lookFrom(0.75, -1, 0.45)), button("from the south", () => lookFrom(0, -1, 0.02)), button("from the east", () => lookFrom(1, 0, 0.02)),
      button("from above", () => lookFrom(0, -0.001, 1)), button("from the sun", () => lookFrom(toSun.x, toSun.y, toSun.z)),
      h("span", { class: "scale" }, `one square of the ground grid: ${plain(grid.step)} m`)),
    rays.length > 0 && fateLegend(rays, changed),
    h("p", { class: "note" }, "Drag to turn, wheel to come nearer, right button to move; or the arrow keys, + and - when the picture has the focus."));
  whole.showRow = (i) => {
    if (!view.rows) return;
    toSun = new THREE.Vector3(...view.rows[i].to_sun);
    placeAll(parts, view.rows[i].frames);
    drawSun();
    changed();
  };
  return whole;
}
