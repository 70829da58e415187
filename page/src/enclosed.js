// How concentrated the light is around its centre: share of the arriving power within a distance.
import { curveChart } from "./curves.js";
import { number } from "./stored.js";

export function enclosedPoints(file, receiver) {
  const group = `/receivers/${receiver}/enclosed/`;
  if (!file.has(`${group}radius_m`)) return undefined;
  const radius = file.values(`${group}radius_m`),
    share = file.values(`${group}fraction`),
    error = file.errors(`${group}fraction`);
  const points = Array.from(radius, (x, i) => ({ x, y: 100 * number(share[i]), e: 100 * number(error[i]) }));
  // Beyond the last light the curve is flat: a tenth of that is enough to see it.
  const full = points.findIndex((p) => p.y >= 100 - 1e-9);
  return full < 0 ? points : points.slice(0, Math.ceil(full * 1.1) + 1);
}

export function enclosedCurve(file, receiver) {
  const points = enclosedPoints(file, receiver);
  if (!points) return undefined;
  const about = file.set(`/receivers/${receiver}/enclosed/radius_m`).about;
  return curveChart({
    name: `Power within a distance, ${receiver}`,
    lines: [{ name: receiver, points: [{ x: 0, y: 0, e: 0 }, ...points.filter((p) => p.x > 0)] }],
    x: { label: `${about ?? "distance"} (m)` },
    y: { label: "share of the arriving power (%)", domain: [0, 100] },
  });
}
