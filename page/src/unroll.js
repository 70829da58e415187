// Flux maps on flat paper, in metres. Tubes are unrolled; balls too, by height, which keeps every area; cones become
// the sector that their skin is.

/// The flux map of a receiver: { nx, ny, flux, errors, area } with bins [i * ny + j], edges of both axes, and the names
/// of its axes in the file.
export function mapOf(file, receiver) {
  const group = `/receivers/${receiver}/`;
  const set = file.set(`${group}flux_W_m2`);
  if (!set) return undefined;
  const [first, second] = set.over;
  const edges = (path) => file.values(group + file.set(path).edges);
  const name = (path) => path.slice(path.lastIndexOf("/") + 1);
  return {
    receiver,
    nx: set.shape[0],
    ny: set.shape[1],
    flux: set.values,
    errors: file.errors(`${group}flux_W_m2`),
    area: file.values(`${group}bin_area_m2`),
    copies: set.copies ?? 1,
    edges: [edges(first), edges(second)],
    axes: [name(first), name(second)],
  };
}

/// Slope of a unrolled surface's radius over height, and the radius at height 0, from the areas of its bins: a strip of
/// azimuth w and height d at radius r has w r d sqrt(1 + g^2), and r = r0 + g z.
function skin(map) {
  const [azimuth, height] = map.edges;
  const stretched = (j) => map.area[j] / ((azimuth[1] - azimuth[0]) * (height[j + 1] - height[j])); // r sqrt(1 + g^2)
  const middle = (j) => (height[j] + height[j + 1]) / 2;
  const last = map.ny - 1;
  const k = last > 0 ? (stretched(last) - stretched(0)) / (middle(last) - middle(0)) : 0; // g sqrt(1 + g^2)
  const straight = Math.abs(k) < 1e-9;
  const g = straight ? 0 : Math.sign(k) * Math.sqrt((Math.sqrt(1 + 4 * k * k) - 1) / 2);
  const slant = Math.sqrt(1 + g * g);
  return { g, slant, radius0: stretched(0) / slant - g * middle(0) };
}

/// How a map lies on paper: `values(grid)` resampled to { width, height, x1, x2, y1, y2, grid }, `place(x, y)` the bin
/// under a point or undefined, `at(i, j)` the point of a bin's centre; labels and words.
export function unrolled(map) {
  const [a, b] = map.edges;
  const bin = (u, v) => {
    const i = Math.floor(((u - a[0]) / (a[map.nx] - a[0])) * map.nx),
      j = Math.floor(((v - b[0]) / (b[map.ny] - b[0])) * map.ny);
    return i >= 0 && j >= 0 && i < map.nx && j < map.ny ? [i, j] : undefined;
  };
  const centre = (edges, i) => (edges[i] + edges[i + 1]) / 2;

  if (map.axes[0] !== "azimuth_rad") {
    return {
      ...straightSheet(map, a, b, 1),
      place: bin,
      at: (i, j) => [centre(a, i), centre(b, j)],
      labels: ["x (m)", "y (m)"],
      how: "Seen along the receiver's own axis, from its front; x and y are its own.",
    };
  }
  const { g, slant, radius0 } = skin(map);
  if (g === 0) {
    return {
      ...straightSheet(map, a, b, radius0),
      place: (x, y) => bin(x / radius0, y),
      at: (i, j) => [centre(a, i) * radius0, centre(b, j)],
      labels: ["around, from its x axis toward its y axis (m)", "along its axis (m)"],
      how: "The skin cut open along its x axis and unrolled, seen from outside.",
    };
  }
  return sectorSheet(map, bin, centre, g, slant, radius0);
}

function straightSheet(map, a, b, radius_m) {
  return {
    x1: a[0] * radius_m,
    x2: a[map.nx] * radius_m,
    y1: b[0],
    y2: b[map.ny],
    width: map.nx,
    height: map.ny,
    grid: (values) => {
      const out = new Float64Array(map.nx * map.ny);
      for (let i = 0; i < map.nx; ++i) for (let j = 0; j < map.ny; ++j) out[j * map.nx + i] = values[i * map.ny + j];
      return out;
    },
  };
}

/// A cone's skin: distance from the tip r / sin(half angle), turned by azimuth times sin(half angle). The cut faces
/// away from the middle of the picture, and the wide rim lies below if it does on the cone.
function sectorSheet(map, bin, centre, g, slant, radius0) {
  const sine = Math.abs(g) / slant,
    down = g > 0 ? 1 : -1;
  const [, b] = map.edges;
  const reach = (z) => (radius0 + g * z) / sine;
  const point = (azimuth, z) => {
    const turn = (azimuth - Math.PI) * sine;
    return [reach(z) * Math.sin(turn), down * reach(z) * Math.cos(turn)];
  };
  const far = Math.max(reach(b[0]), reach(b[map.ny])),
    near = Math.min(reach(b[0]), reach(b[map.ny]));
  const half = Math.min(Math.PI * sine, Math.PI / 2),
    lowest = Math.cos(Math.PI * sine);
  const x2 = far * Math.sin(half),
    x1 = -x2;
  const ends = [down * far, down * Math.min(near * lowest, far * lowest)];
  const y1 = Math.min(...ends),
    y2 = Math.max(...ends);
  const step = Math.max(x2 - x1, y2 - y1) / 500;
  const width = Math.max(1, Math.round((x2 - x1) / step)),
    height = Math.max(1, Math.round((y2 - y1) / step));
  const place = (x, y) => {
    const distance = Math.hypot(x, y);
    const azimuth = Math.atan2(x, down * y) / sine + Math.PI;
    if (azimuth < 0 || azimuth > 2 * Math.PI) return undefined;
    return bin(azimuth, (distance * sine - radius0) / g);
  };
  return {
    x1,
    x2,
    y1,
    y2,
    width,
    height,
    place,
    grid: (values) => {
      const out = new Float64Array(width * height).fill(NaN);
      for (let row = 0; row < height; ++row)
        for (let column = 0; column < width; ++column) {
          const found = place(x1 + ((column + 0.5) / width) * (x2 - x1), y1 + ((row + 0.5) / height) * (y2 - y1));
          if (found) out[row * width + column] = values[found[0] * map.ny + found[1]];
        }
      return out;
    },
    at: (i, j) => point(centre(map.edges[0], i), centre(b, j)),
    labels: ["across the unrolled skin (m)", "from the cone's tip (m)"],
    how: "The cone's skin cut open along its x axis and laid flat, seen from outside.",
  };
}
