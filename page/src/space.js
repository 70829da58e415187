// The scene in space: components in their true shapes, receivers painted with their flux, rays coloured by their fate,
// the sun, axes and a ground grid with its scale. Drawn only when something changed.
import * as THREE from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { fates } from "./colours.js";
import { nameWords } from "./section.js";
import { componentMeshes, nameLabels, placeAll } from "./space_components.js";
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
    const material = new THREE.LineBasicMaterial({
      color: fates[fate]?.colour ?? "#888888",
      transparent: true,
      opacity: fate === "absorbed" ? 0.55 : 0.75,
    });
    return { fate, count, lines: new THREE.LineSegments(geometry, material) };
  });
}

function fateLegend(rays, changed) {
  const total = rays.reduce((sum, ray) => sum + ray.count, 0);
  return h(
    "fieldset",
    { class: "fates" },
    h("legend", {}, `${total} rays, by where most of their power ended`),
    rays.map(({ fate, count, lines }) =>
      h(
        "label",
        {},
        h("input", {
          type: "checkbox",
          checked: true,
          onchange: (event) => {
            lines.visible = event.target.checked;
            changed();
          },
        }),
        svg(
          "svg",
          { width: 22, height: 10, "aria-hidden": "true" },
          svg("line", { x1: 0, x2: 22, y1: 5, y2: 5, stroke: fates[fate]?.colour ?? "#888888", "stroke-width": 4 }),
        ),
        `${fates[fate]?.words ?? fate} (${count})`,
      ),
    ),
  );
}

/// The paths of a view: [{ fate, points: [[x, y, z]] }].
export function pathsOf({ fates: names, fate, vertex_count, vertices_m }) {
  let next = 0;
  return fate.map((f, i) => {
    const points = Array.from({ length: vertex_count[i] }, (_, k) =>
      vertices_m.slice(3 * (next + k), 3 * (next + k) + 3),
    );
    next += vertex_count[i];
    return { fate: names[f], points };
  });
}

/// `view`: what the program says of the scene (engine/pictures/scene_view.h), with `rows` for a schedule's suns; `maps`:
/// a Map of flux maps by receiver. Built when it comes near the window, so that the page's numbers need not wait for it. The
/// element has `showRow(i)` for a schedule.
export function sceneInSpace(view, maps = new Map()) {
  const parts = view.components.map((c) => `${c.role} ${c.name}`).join(", ");
  const describe = `View in space of ${view.title || "the scene"}: ${parts}`;
  const canvas = h("canvas", {
    tabindex: 0,
    role: "img",
    class: "space",
    "aria-label": `${describe}. Drag or use the arrow keys to turn, + and - to come nearer or go away.`,
  });
  const box = h("div", { class: "space-box" }, canvas),
    whole = h("div", { class: "in-space" }, box);
  let begun, row;
  const begin = () => {
    if (begun) return;
    watch.disconnect();
    begun = beginIn(whole, box, canvas, view, maps);
    if (row !== undefined) begun.showRow(row);
  };
  const watch = new IntersectionObserver((entries) => entries.some((entry) => entry.isIntersecting) && begin(), {
    rootMargin: "300px",
  });
  watch.observe(box);
  addEventListener("beforeprint", begin);
  whole.showRow = (i) => {
    row = i;
    begun?.showRow(i);
  };
  return whole;
}

/// Says beside the pointer what component it is on, and which copy of it.
function nameUnderPointer(box, canvas, camera, parts, components) {
  const tip = h("div", { class: "tip", hidden: true, "aria-hidden": "true" }),
    caster = new THREE.Raycaster();
  box.append(tip);
  let asked = false,
    at = [0, 0];
  const look = () => {
    asked = false;
    const { width, height } = canvas.getBoundingClientRect();
    caster.setFromCamera(new THREE.Vector2((2 * at[0]) / width - 1, 1 - (2 * at[1]) / height), camera);
    const hits = parts.flatMap(({ sides }, c) => caster.intersectObjects(sides, false).map((hit) => ({ ...hit, c })));
    const nearest = hits.reduce((best, hit) => (best && best.distance <= hit.distance ? best : hit), undefined);
    tip.hidden = !nearest;
    if (!nearest) return;
    const component = components[nearest.c],
      copies = component.copies.length / 12;
    tip.textContent = nameWords(component) + (copies > 1 ? `, copy ${nearest.instanceId + 1} of ${copies}` : "");
    tip.style.left = `${Math.min(at[0] + 12, width - 180)}px`;
    tip.style.top = `${at[1] + 12}px`;
  };
  canvas.addEventListener("pointermove", (event) => {
    const frame = canvas.getBoundingClientRect();
    at = [event.clientX - frame.left, event.clientY - frame.top];
    if (event.buttons !== 0) tip.hidden = true;
    else if (!asked) requestAnimationFrame(look), (asked = true);
  });
  canvas.addEventListener("pointerleave", () => (tip.hidden = true));
}

function beginIn(whole, box, canvas, view, maps) {
  let renderer;
  try {
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
  } catch {
    box.replaceWith(h("p", { class: "note" }, "This browser draws no WebGL, so there is no view in space."));
    return { showRow() {} };
  }
  renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
  const scene = new THREE.Scene();
  const parts = componentMeshes(view, maps);
  parts.forEach((part) => scene.add(part.group));
  placeAll(
    parts,
    view.components.map((component) => component.copies),
  );

  const solid = new THREE.Box3(new THREE.Vector3(...view.low_m), new THREE.Vector3(...view.high_m));
  const reach = Math.max(solid.getSize(new THREE.Vector3()).length() / 2, 1e-3);
  const rays = rayLines(pathsOf(view.paths));
  rays.forEach((ray) => scene.add(ray.lines));
  const all = solid.clone();
  rays.forEach(({ lines }) => {
    lines.geometry.computeBoundingBox();
    all.union(lines.geometry.boundingBox);
  });
  const middle = all.getCenter(new THREE.Vector3());
  const names = new THREE.Group();
  names.visible = view.components.length <= 8; // more would hide each other
  scene.add(names);
  const drawNames = () => nameLabels(names, parts, view.components, reach * 0.065, css("--ink"));

  // Marks stand outside what is shown, so that nothing is hidden.
  const marks = new THREE.Group(),
    sunMark = new THREE.Group();
  scene.add(marks, sunMark);
  const grid = groundGrid(solid, reach);
  const drawMarks = () => {
    marks.clear();
    const ink = css("--ink"),
      faint = css("--grid");
    marks.add(grid.lines(faint));
    const corner = grid.corner,
      length = reach * 0.28;
    [
      ["east", [1, 0, 0]],
      ["north", [0, 1, 0]],
      ["up", [0, 0, 1]],
    ].forEach(([name, way]) =>
      marks.add(
        arrow(corner, new THREE.Vector3(...way), length, ink),
        label(name, corner.clone().addScaledVector(new THREE.Vector3(...way), length * 1.2), reach * 0.075, ink),
      ),
    );
    drawSun();
    drawNames();
  };
  let toSun = new THREE.Vector3(...view.to_sun);
  // Just outside the box of all that is shown, on the way to the sun.
  const sunPlace = () => {
    const half = all.getSize(new THREE.Vector3()).divideScalar(2);
    const out = Math.min(...["x", "y", "z"].map((axis) => half[axis] / Math.max(Math.abs(toSun[axis]), 1e-9)));
    return middle.clone().addScaledVector(toSun, out + reach * 0.4);
  };
  const drawSun = () => {
    sunMark.clear();
    const colour = css("--sun"),
      far = sunPlace();
    const disc = new THREE.Mesh(
      new THREE.SphereGeometry(reach * 0.045, 24, 16),
      new THREE.MeshBasicMaterial({ color: colour }),
    );
    disc.position.copy(far);
    sunMark.add(
      disc,
      arrow(far, toSun.clone().negate(), reach * 0.3, colour),
      label("sun", far.clone().add(new THREE.Vector3(0, 0, reach * 0.1)), reach * 0.075, css("--ink")),
    );
    light.position.copy(middle).addScaledVector(toSun, reach * 4);
    light.target.position.copy(middle);
  };
  const light = new THREE.DirectionalLight("#ffffff", 1.6);
  scene.add(light, light.target, new THREE.HemisphereLight("#ffffff", "#8a8378", 1.7));

  const camera = new THREE.PerspectiveCamera(36, 1, reach / 200, reach * 100);
  camera.up.set(0, 0, 1);
  const controls = new OrbitControls(camera, canvas);
  controls.zoomToCursor = true;
  canvas.style.touchAction = "pan-y"; // a finger that moves up and down moves the page
  let asked = false;
  const draw = () => {
    asked = false;
    renderer.render(scene, camera);
    box.dataset.drawn = Number(box.dataset.drawn ?? 0) + 1;
  };
  const changed = () => {
    if ("printing" in document.documentElement.dataset) return draw(); // paper waits for no frame
    if (!asked) requestAnimationFrame(draw);
    asked = true;
  };
  /// From a direction, as near as everything fits into the picture.
  const lookFrom = (x, y, z) => {
    const way = new THREE.Vector3(x, y, z).normalize();
    camera.position.copy(middle).add(way);
    camera.lookAt(middle);
    camera.updateMatrixWorld();
    const [right, above, toward] = [0, 1, 2].map((column) =>
      new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, column),
    );
    const tall = Math.tan((Math.PI / 360) * camera.fov),
      wide = tall * camera.aspect;
    const corners = [0, 1, 2, 3, 4, 5, 6, 7].map(
      (k) =>
        new THREE.Vector3(k & 1 ? all.min.x : all.max.x, k & 2 ? all.min.y : all.max.y, k & 4 ? all.min.z : all.max.z),
    );
    const away = Math.max(
      ...[...corners, sunPlace(), grid.corner].map((point) => {
        const from = point.clone().sub(middle);
        return from.dot(toward) + Math.max(Math.abs(from.dot(right)) / wide, Math.abs(from.dot(above)) / tall);
      }),
    );
    controls.target.copy(middle);
    camera.position.copy(middle).addScaledVector(way, 1.06 * away);
    controls.update();
    changed();
  };
  controls.addEventListener("change", changed);
  canvas.onkeydown = (event) => {
    const turn = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, -0.1], ArrowDown: [0, 0.1] }[event.key];
    const zoom = { "+": 0.85, "=": 0.85, "-": 1 / 0.85 }[event.key];
    if (!turn && !zoom) return;
    const from = camera.position.clone().sub(controls.target),
      round = new THREE.Spherical().setFromVector3(new THREE.Vector3(from.x, from.z, -from.y));
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

  let fitted = [0, 0];
  const fit = () => {
    const { clientWidth: width, clientHeight: height } = box;
    // Whoever watches a size is told of the first one too, which is no reason to draw again.
    if (width === 0 || height === 0 || (width === fitted[0] && height === fitted[1])) return;
    const first = fitted[0] === 0;
    fitted = [width, height];
    renderer.setSize(width, height);
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
    if (first) lookFrom(0.75, -1, 0.45);
    changed();
  };
  document.addEventListener("themechange", () => {
    drawMarks();
    changed();
  });
  drawMarks();

  const button = (words, act) => h("button", { type: "button", onclick: act }, words);
  whole.append(
    h(
      "div",
      { class: "buttons" },
      button("whole", () => lookFrom(0.75, -1, 0.45)),
      button("from the south", () => lookFrom(0, -1, 0.02)),
      button("from the east", () => lookFrom(1, 0, 0.02)),
      button("from above", () => lookFrom(0, -0.001, 1)),
      button("from the sun", () => lookFrom(toSun.x, toSun.y, toSun.z)),
      h(
        "label",
        {},
        h("input", {
          type: "checkbox",
          checked: names.visible,
          onchange: (event) => {
            names.visible = event.target.checked;
            changed();
          },
        }),
        " names",
      ),
      h("span", { class: "scale" }, `one square of the ground grid: ${plain(grid.step)} m`),
    ),
    rays.length > 0 ? fateLegend(rays, changed) : "",
    h(
      "p",
      { class: "note" },
      "Drag to turn, use the wheel to come nearer, drag with the right button to move. With the focus on the picture, " +
        "use the arrow keys, + and -. On a touch screen, drag sideways to turn and use two fingers to come nearer. " +
        "Point at a component to read its name. The lighter side of a component is its front.",
    ),
  );
  nameUnderPointer(box, canvas, camera, parts, view.components);
  fit();
  new ResizeObserver(fit).observe(box);
  return {
    showRow(i) {
      if (!view.rows) return;
      toSun = new THREE.Vector3(...view.rows[i].to_sun);
      placeAll(parts, view.rows[i].copies);
      drawNames();
      drawSun();
      changed();
    },
  };
}
