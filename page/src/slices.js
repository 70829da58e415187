// Tables over one or more named axes, one slice at a time: an axis runs along the chart, each other has a slider. For
// any dataset that has dimension scales; what a search tried and what errors cost have charts of their own.
import { curveChart } from "./curves.js";
import { h, slider } from "./dom.js";
import { axisLabel, plain, scaled, unitWords, withError, words, wordsWithoutUnit } from "./numbers.js";
import { sunsOf } from "./schedule.js";
import { number } from "./stored.js";

const last = (path) => path.slice(path.lastIndexOf("/") + 1);
const isNumeric = (values) => values.length > 0 && typeof values[0] !== "string";

function scaleWords(file, scale, i) {
  const set = file.set(scale),
    value = set.values[i];
  if (scale === "/time" && file.has("/local_time")) return file.values("/local_time")[i].replace("T", " ");
  return typeof value === "string" ? words(value) : `${plain(number(value))} ${unitWords(set.units)}`.trim();
}

/// "receivers, tube, peak" for the unit to stand beside; the last of it alone where that is enough.
function pathWords(file, path) {
  const groups = path.slice(1, path.lastIndexOf("/") + 1).replaceAll("/", ", ");
  return words(groups) + lastWords(file, path);
}
const lastWords = (file, path) => wordsWithoutUnit(last(path), file.set(path).units);

/// Datasets worth slicing: numbers, two or more axes longer than one, all with scales.
function sliceable(file) {
  return [...file.sets]
    .filter(([path, set]) => {
      const long = set.shape.filter((n) => n > 1).length;
      const hidden =
        path.includes("standard_error") ||
        path.startsWith("/paths/") ||
        path.startsWith("/scene/") ||
        path.includes("by_replicate") ||
        set.over.some((scale) => scale.startsWith("/receivers/")); // maps have a section of their own
      return (
        long >= 2 &&
        !hidden &&
        !set.scale &&
        set.over.every((scale) => scale && file.has(scale)) &&
        isNumeric(set.values)
      );
    })
    .map(([path]) => path);
}

/// One dataset with a choice of the axis along the chart and a slider for each other axis.
function sliceOf(file, path) {
  const set = file.set(path),
    errors = file.errors(path);
  const strides = set.shape.map((_, axis) => set.shape.slice(axis + 1).reduce((a, b) => a * b, 1));
  const places = set.shape.map(() => 0);
  let along = set.over.findIndex((scale, axis) => set.shape[axis] > 1 && isNumeric(file.values(scale)));
  if (along < 0) along = 0;
  const box = h("div", { class: "slice" }),
    controls = h("div", {});
  const axisWords = (axis) => {
    const short = set.over.map((scale) => lastWords(file, scale));
    return short.filter((name) => name === short[axis]).length > 1 ? pathWords(file, set.over[axis]) : short[axis];
  };

  const draw = () => {
    const scale = file.set(set.over[along]),
      numeric = isNumeric(scale.values),
      time = set.over[along] === "/time",
      suns = time && sunsOf(file); // on the same clock as every other chart
    const start = places.reduce((sum, place, axis) => sum + (axis === along ? 0 : place * strides[axis]), 0);
    const points = Array.from({ length: set.shape[along] }, (_, i) => {
      const at = start + i * strides[along];
      return {
        x: time ? suns[i].x : numeric ? number(scale.values[i]) : words(scale.values[i]),
        y: number(set.values[at]),
        e: errors ? number(errors[at]) : 0,
        label: scaleWords(file, set.over[along], i),
      };
    });
    const x =
      time && points.every((p) => p.x instanceof Date)
        ? { type: "utc", label: "time on the site's clock" }
        : numeric
          ? { label: axisLabel(scale, last(set.over[along])) }
          : { type: "point", domain: points.map((p) => p.x), label: axisWords(along), labelOffset: 80, tickRotate: -25 };
    box.replaceChildren(
      curveChart({
        name: lastWords(file, path),
        lines: [{ name: "", points }],
        x,
        dots: !numeric || points.length < 60,
        y: { label: axisLabel(set, last(path)) },
        height: numeric ? 240 : 330,
        marginBottom: numeric ? 44 : 84,
      }),
    );
  };
  const controlsFor = () =>
    [
      h(
        "label",
        { class: "slider" },
        h("span", {}, "along the chart"),
        h(
          "select",
          {
            onchange: (event) => {
              along = Number(event.target.value);
              renew();
              controls.querySelector("select").focus(); // it is a new one
            },
          },
          set.over.map(
            (_, axis) =>
              set.shape[axis] > 1 && h("option", { value: axis, selected: axis === along }, axisWords(axis)),
          ),
        ),
      ),
      ...set.over.map(
        (scale, axis) =>
          axis !== along &&
          set.shape[axis] > 1 &&
          slider({
            label: axisWords(axis),
            count: set.shape[axis],
            start: places[axis],
            words: (i) => scaleWords(file, scale, i),
            onchange: (i) => {
              places[axis] = i;
              draw();
            },
          }),
      ),
    ].filter(Boolean);
  const renew = () => {
    controls.replaceChildren(...controlsFor());
    draw();
  };
  renew();
  return h("div", {}, controls, box);
}

/// The explorer: which dataset, and its slice.
export function slices(file) {
  const paths = sliceable(file);
  if (paths.length === 0) return undefined;
  const box = h("div", {});
  const show = (path) => box.replaceChildren(sliceOf(file, path));
  show(paths[0]);
  return h(
    "div",
    { class: "slices" },
    h(
      "label",
      { class: "slider" },
      h("span", {}, "numbers"),
      h(
        "select",
        { onchange: (event) => show(event.target.value) },
        paths.map((path) => h("option", { value: path }, pathWords(file, path))),
      ),
    ),
    box,
  );
}

/// What errors of pointing, place and slope cost.
export function toleranceCharts(file) {
  return file
    .below("/tolerance")
    .filter((name) => name !== "lost_share")
    .map((component) => {
      const group = `/tolerance/${component}`,
        kinds = file.below(group);
      // "error_mrad", "error_mm", …: the scale of the kind's curves
      const axisOf = (kind) =>
        file
          .below(`${group}/${kind}`)
          .find((name) => name.startsWith("error_") && file.set(`${group}/${kind}/${name}`).scale);
      const lines = kinds
        .map((kind) => {
          const axis = axisOf(kind),
            at = `${group}/${kind}/`,
            x = file.values(at + axis),
            y = file.values(`${at}absorbed_share`),
            e = file.errors(`${at}absorbed_share`);
          const points = Array.from(x, (v, i) => ({ x: number(v), y: 100 * number(y[i]), e: 100 * number(e[i]) }));
          return {
            name: words(kind),
            axis,
            label: axisLabel(file.set(at + axis), axis),
            points,
            reach: Math.max(...points.map((p) => Math.abs(p.x))),
          };
        })
        .sort((a, b) => a.reach - b.reach);
      // An error that hardly costs anything is followed far out: it would squeeze the others' axis.
      const together = [];
      for (const line of lines) {
        const chart = together.find(([first]) => first.axis === line.axis && line.reach <= 3 * first.reach);
        if (chart) chart.push(line);
        else together.push([line]);
      }
      const charts = together.map((some) =>
        curveChart({
          name: `${component}: absorbed power with an error of ${some.map((line) => line.name).join(", ")}`,
          lines: some,
          x: { label: some[0].label },
          y: { label: "% of that without the error" },
        }),
      );
      return h("div", {}, charts);
    });
}

/// What many builds absorb, each with its own random errors: the share of builds below each absorbed share.
export function buildsChart(file) {
  if (!file.has("/realisations/absorbed_share")) return undefined;
  const shares = Array.from(file.values("/realisations/absorbed_share"), number).sort((a, b) => a - b),
    n = shares.length;
  const mean = file.estimate("/realisations/mean_absorbed_share");
  return curveChart({
    name: `${n} builds, each with its own random errors`,
    lines: [{ name: "builds", points: shares.map((x, k) => ({ x: 100 * x, y: (100 * (k + 1)) / (n + 1), e: 0 })) }],
    x: { label: "absorbed power, % of that without the errors" },
    y: { label: "% of the builds below this" },
    dots: n < 60,
    mark: () => 100 * mean.value,
    note: `The dashed line is the mean, ${withError(scaled(mean, 100), "%")}.`,
  });
}

/// What the search gained, from samples that it did not use itself.
function gainOf(file, unit) {
  const before = file.estimate("/design/original_mean"),
    after = file.estimate("/design/best_mean");
  if (!before || !after) return undefined;
  const gain = file.estimate("/design/gain") ?? {
    value: after.value - before.value,
    error: Math.hypot(before.error, after.error), // files of before had no gain of common samples
  };
  return h(
    "p",
    { "data-gain": gain.value },
    `Mean over the suns, from fresh samples: ${withError(before, unit)} before, ${withError(after, unit)} with the ` +
      `best variant; gain ${withError(gain, unit)}.` +
      (file.set("/design/variant").original_kept ? " No variant is better: the scene stays as it was." : ""),
  );
}

/// What a search over free numbers tried: the objective over each number, with sliders that narrow the others.
export function designCharts(file) {
  if (!file.has("/design/value")) return undefined;
  const names = file.values("/design/parameter"),
    values = file.values("/design/value"),
    objective = file.set("/design/objective");
  const best = file.set("/design/variant").best ?? 0,
    n = names.length;
  const unit = unitWords(objective.units),
    label = unit
      ? `${words(file.attributes.objective ?? "objective")} (${unit})`
      : words(file.attributes.objective ?? "objective");
  const variants = Array.from(objective.values, (y, i) => ({
    y: number(y),
    at: names.map((_, k) => number(values[i * n + k])),
    i,
  }));
  const keep = names.map(() => 100); // percent of the range, about the best, that a variant may lie in
  const range = names.map((_, k) => file.values("/design/high")[k] - file.values("/design/low")[k]);
  const chosen = variants[best] ?? variants[0];
  const box = h("div", {});
  const draw = () => {
    const near = (v, k) =>
      v.at.every(
        (x, other) => other === k || Math.abs(x - chosen.at[other]) <= (keep[other] / 100) * range[other] + 1e-12,
      );
    box.replaceChildren(
      ...names.map((name, k) =>
        curveChart({
          name: `${name}: best ${plain(chosen.at[k])}, before ${plain(number(file.values("/design/original")[k]))}`,
          lines: [
            {
              name,
              points: variants
                .filter((v) => Number.isFinite(v.y) && near(v, k))
                .map((v) => ({ x: v.at[k], y: v.y, e: 0 }))
                .sort((a, b) => a.x - b.x),
            },
          ],
          x: { label: name },
          y: { label },
          dots: true,
          joined: n === 1, // neighbours in one number differ in the others: a line between them means nothing
          mark: () => chosen.at[k],
        }),
      ),
    );
  };
  draw();
  const sliders =
    n > 1 &&
    names.map((name, k) =>
      slider({
        label: `${name}: variants shown`,
        count: 20,
        start: 19,
        words: (i) => (i === 19 ? "all" : `within ${5 * (i + 1)} % of its range round the best`),
        onchange: (i) => {
          keep[k] = 5 * (i + 1);
          draw();
        },
      }),
    );
  return h(
    "div",
    { class: "design" },
    gainOf(file, unit),
    sliders,
    box,
    h(
      "p",
      { class: "note" },
      "Each dot is a scene that was tried, at the poses that were best for it. The dashed line marks the best. " +
        "With several free numbers each slider leaves only variants that lie near the best in that number, so that " +
        "the charts of the other numbers become slices.",
    ),
  );
}
