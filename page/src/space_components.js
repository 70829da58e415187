// Components as meshes of the three-dimensional view: one geometry a component, an instance a copy.
import * as THREE from "three";
import { fluxColour } from "./colours.js";
import { label } from "./space_marks.js";

const looks = {
  primary: { front: "#c3d4e4", back: "#8792a0" },
  secondary: { front: "#d9c3e6", back: "#94809f" },
  receiver: { front: "#6b5a4a", back: "#4a4038" },
  obstacle: { front: "#7c7c74", back: "#6a6a64" },
  cover: { front: "#b0d6d0", back: "#b0d6d0", clear: true },
};

/// Where copy `i` stands, of `copies`: twelve numbers each, origin and the own axes x, y, z.
export function matrixOf(copies, i) {
  const [ox, oy, oz, xx, xy, xz, yx, yy, yz, zx, zy, zz] = copies.slice(12 * i, 12 * i + 12);
  return new THREE.Matrix4().set(xx, yx, zx, ox, xy, yy, zy, oy, xz, yz, zz, oz, 0, 0, 0, 1);
}

/// The flux map as a texture, a texel a bin.
function fluxTexture(map) {
  const most = map.flux.reduce((top, v) => (v > top ? v : top), 0) || 1;
  const pixels = new Uint8Array(4 * map.nx * map.ny);
  for (let i = 0; i < map.nx; ++i)
    for (let j = 0; j < map.ny; ++j) {
      const flux = map.flux[i * map.ny + j],
        colour = new THREE.Color(fluxColour(Number.isFinite(flux) ? flux / most : 0));
      pixels.set(
        [
          ...colour
            .convertLinearToSRGB()
            .toArray()
            .map((c) => Math.round(255 * c)),
          255,
        ],
        4 * (j * map.nx + i),
      );
    }
  const texture = new THREE.DataTexture(pixels, map.nx, map.ny);
  texture.colorSpace = THREE.SRGBColorSpace;
  texture.magFilter = texture.minFilter = THREE.NearestFilter;
  texture.needsUpdate = true;
  return texture;
}

function geometryOf(component) {
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute("position", new THREE.Float32BufferAttribute(component.points_m, 3));
  geometry.setAttribute("normal", new THREE.Float32BufferAttribute(component.normals, 3));
  geometry.setIndex(component.triangles);
  if (component.flux) geometry.setAttribute("uv", new THREE.Float32BufferAttribute(component.flux.coordinates, 2));
  return geometry;
}

export function componentMeshes(view, maps) {
  return view.components.map((component) => {
    const map = maps.get(component.name),
      look = looks[component.role] ?? looks.obstacle;
    const geometry = geometryOf(component),
      count = component.copies.length / 12;
    // What is painted is not lit: its colours are those of the colour bar.
    const front = map
      ? new THREE.MeshBasicMaterial({ map: fluxTexture(map) })
      : new THREE.MeshPhongMaterial({
          color: look.front,
          shininess: component.role === "obstacle" ? 5 : 60,
          specular: "#444444",
        });
    const back = new THREE.MeshPhongMaterial({ color: look.back, side: THREE.BackSide, shininess: 5 });
    if (look.clear)
      for (const glass of [front, back]) Object.assign(glass, { transparent: true, opacity: 0.3, depthWrite: false });
    const sides = [front, back].map((material) => new THREE.InstancedMesh(geometry, material, count));
    const group = new THREE.Group();
    group.add(...sides);
    return { group, sides, count };
  });
}

/// Puts every copy where `copies`, by component, says; a component without any stays.
export function placeAll(parts, copies) {
  parts.forEach(({ sides, count }, c) => {
    if (!copies[c]) return;
    sides.forEach((side) => {
      for (let i = 0; i < count; ++i) side.setMatrixAt(i, matrixOf(copies[c], i));
      side.instanceMatrix.needsUpdate = true;
      side.computeBoundingSphere();
    });
  });
}

/// A component's name above its first copy; `group` is emptied first.
export function nameLabels(group, parts, components, height, colour) {
  group.clear();
  parts.forEach(({ sides }, c) => {
    const place = new THREE.Matrix4();
    sides[0].getMatrixAt(0, place);
    sides[0].geometry.computeBoundingBox();
    const box = sides[0].geometry.boundingBox.clone().applyMatrix4(place),
      middle = box.getCenter(new THREE.Vector3());
    group.add(label(components[c].name, new THREE.Vector3(middle.x, middle.y, box.max.z + height), height, colour));
  });
}
