// A result file as the page carries it: datasets by their HDF5 paths.

function unpacked(values) {
  if (values === null || typeof values !== "object" || Array.isArray(values)) return values;
  const bytes = Uint8Array.from(atob(values.f64), (c) => c.charCodeAt(0));
  return new Float64Array(bytes.buffer); // little-endian, as every machine with a browser is
}

export class Stored {
  constructor(data) {
    this.path = data.path;
    this.attributes = data.attributes;
    this.sets = new Map(Object.entries(data.sets));
    for (const set of this.sets.values()) set.values = unpacked(set.values);
  }

  has(path) {
    return this.sets.has(path);
  }

  set(path) {
    return this.sets.get(path);
  }

  /// The values of a dataset, a number or an array; undefined where there is none.
  values(path) {
    return this.sets.get(path)?.values;
  }

  /// A number with its standard error, at `place` where it is an array.
  estimate(path, place) {
    const set = this.sets.get(path);
    if (!set) return undefined;
    const errors = this.errors(path);
    if (set.shape.length === 0) return { value: number(set.values), error: number(errors ?? 0) };
    return { value: number(set.values[place]), error: errors ? number(errors[place]) : 0 };
  }

  /// Standard errors of the dataset at `path`: another, which it names in its attribute ancillary_variables, or, in files
  /// of schema 1, its attribute standard_error.
  errors(path) {
    const set = this.sets.get(path),
      name = set?.ancillary_variables;
    if (!name) return set?.standard_error;
    return this.values(path.slice(0, path.lastIndexOf("/") + 1) + name);
  }

  /// Names of the groups and datasets right below `group`.
  below(group) {
    const start = group.endsWith("/") ? group : `${group}/`;
    const names = new Set();
    for (const path of this.sets.keys()) if (path.startsWith(start)) names.add(path.slice(start.length).split("/")[0]);
    return [...names];
  }

  get receivers() {
    return this.below("/receivers");
  }

  get isSchedule() {
    return this.attributes.content === "schedule";
  }

  /// W/m2, of the scene's sun.
  get dni() {
    return this.values("/sun/dni_W_m2");
  }
}

/// Null stands for what is no number.
export function number(value) {
  return value === null || value === undefined ? NaN : value;
}
