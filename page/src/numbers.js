// Numbers in words, rounded as a measurement's report rounds them.

/// The decimal place (as in 10^place) of the second significant digit, after rounding to two digits.
function placeOfSecondDigit(x) {
  return Number(x.toExponential(1).split("e")[1]) - 1;
}

function fixedToPlace(x, place) {
  if (place <= 0) return x.toFixed(Math.min(-place, 20));
  const step = 10 ** place;
  return (Math.round(x / step) * step).toFixed(0);
}

const minus = (text) => text.replace("-", "\u2212");

/// Six significant digits at most, trailing zeros dropped.
export function plain(x, digits = 6) {
  if (!Number.isFinite(x)) return "not defined";
  if (x === 0) return "0";
  const size = Math.abs(x);
  if (size >= 1e9 || size < 1e-5) return minus(Number(x.toPrecision(digits)).toExponential().replace("e+", "e"));
  return minus(String(Number(x.toPrecision(digits))));
}

/// The error to two significant digits, the value to the same place (JCGM 100:2008, 7.2.6).
export function rounded({ value, error }) {
  if (!Number.isFinite(value)) return { value: "not defined", error: "" };
  if (!Number.isFinite(error)) return { value: plain(value), error: "not known" };
  if (error <= 1e-13 * Math.abs(value)) return { value: plain(value), error: "" };
  const place = placeOfSecondDigit(error);
  return { value: minus(fixedToPlace(value, place)), error: fixedToPlace(error, place) };
}

/// "0.89439 ± 0.00010 W"
export function withError(estimate, unit = "") {
  const { value, error } = rounded(estimate);
  return `${value}${error ? ` ± ${error}` : ""}${unit && value !== "not defined" ? ` ${unit}` : ""}`;
}

export function scaled({ value, error }, factor) {
  return { value: value * factor, error: error * Math.abs(factor) };
}

/// "primary_absorption" as people write it.
export function words(name) {
  return name.replaceAll("_", " ");
}

/// "error_mrad" as people write it beside its unit: without it.
export function wordsWithoutUnit(name, units) {
  const unit = units === "degree" ? "deg" : (units ?? "1").replace(/-1\b/g, "").replaceAll("-", "").replaceAll(" ", "_");
  const end = [`_per_${unit}`, `_${unit}`].find((tail) => name.endsWith(tail));
  return words(unit !== "1" && end ? name.slice(0, -end.length) : name);
}

/// The file's unit in print: "W m-2" as W/m².
export function unitWords(units) {
  if (!units || units === "1") return "";
  return (
    { "W m-2": "W/m²", m2: "m²", degree: "°", "m s-1": "m/s", "rad s-1": "rad/s", "km-1": "1/km", percent: "%" }[
      units
    ] ?? units
  );
}

/// Axis label of a dataset.
export function axisLabel(set, name) {
  const unit = unitWords(set.units);
  return `${set.long_name ?? name}${unit ? ` (${unit})` : ""}`;
}
