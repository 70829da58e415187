// What explains the three-dimensional view: ground grid, arrows and words.
import * as THREE from "three";

/// 1, 2 or 5 times a power of ten, near `length`.
export function roundLength(length) {
  const power = 10 ** Math.floor(Math.log10(length)),
    digits = length / power;
  return power * (digits < 1.5 ? 1 : digits < 3.5 ? 2 : digits < 7.5 ? 5 : 10);
}

/// A grid under everything, of squares with a round side.
export function groundGrid(solid, reach) {
  const step = roundLength(reach / 4),
    z = solid.min.z - reach * 0.02;
  const from = (x) => step * (Math.floor(x / step) - 1),
    to = (x) => step * (Math.ceil(x / step) + 1);
  const [x1, x2, y1, y2] = [from(solid.min.x), to(solid.max.x), from(solid.min.y), to(solid.max.y)];
  return {
    step,
    corner: new THREE.Vector3(x1, y1, z),
    lines: (colour) => {
      const points = [];
      for (let x = x1; x <= x2 + step / 2; x += step) points.push(x, y1, z, x, y2, z);
      for (let y = y1; y <= y2 + step / 2; y += step) points.push(x1, y, z, x2, y, z);
      const geometry = new THREE.BufferGeometry();
      geometry.setAttribute("position", new THREE.Float32BufferAttribute(points, 3));
      return new THREE.LineSegments(geometry, new THREE.LineBasicMaterial({ color: colour }));
    },
  };
}

export function arrow(from, way, length, colour) {
  return new THREE.ArrowHelper(way, from, length, new THREE.Color(colour).getHex(), length * 0.2, length * 0.1);
}

/// Words that always face the reader, `height` high.
export function label(words, at, height, colour) {
  const canvas = document.createElement("canvas"),
    size = 64;
  const pen = canvas.getContext("2d"),
    font = `500 ${size}px system-ui, sans-serif`;
  pen.font = font;
  canvas.width = Math.ceil(pen.measureText(words).width) + 8;
  canvas.height = Math.ceil(size * 1.3);
  pen.font = font;
  pen.fillStyle = colour;
  pen.textBaseline = "middle";
  pen.fillText(words, 4, canvas.height / 2);
  const texture = new THREE.CanvasTexture(canvas);
  texture.colorSpace = THREE.SRGBColorSpace;
  const sprite = new THREE.Sprite(new THREE.SpriteMaterial({ map: texture, depthTest: false }));
  sprite.scale.set((height * canvas.width) / canvas.height, height, 1);
  sprite.position.copy(at);
  sprite.renderOrder = 10; // words stand before rays
  return sprite;
}
