// Results side by side: every shared number with its difference in standard errors, and curves one over the other.
import { whatWasTraced } from "./about.js";
import { budgetOf, stackedBudgets, wholeOf } from "./budget.js";
import { curveChart } from "./curves.js";
import { h, section } from "./dom.js";
import { enclosedPoints } from "./enclosed.js";
import { fluxMap } from "./flux.js";
import { plain, scaled, withError, words } from "./numbers.js";
import { clockAxis, onClock, sunsOf } from "./schedule.js";
import { sceneInSpace } from "./space.js";
import { number, Stored } from "./stored.js";
import { mapOf } from "./unroll.js";

/// Short names that tell the files apart.
export function namesOf(files) {
  const short = files.map((file) => file.path.split("/").pop().replace(/\.h5$/, ""));
  return short.map((name, i) => (short.indexOf(name) === short.lastIndexOf(name) ? name : `${name} (${i + 1})`));
}

/// (b - a) in standard errors of the difference, for independent runs.
function apart(a, b, sameSuns) {
  if (!sameSuns) return ""; // between other suns chance is the least of what differs
  const error = Math.hypot(a.error, b.error);
  if (!Number.isFinite(a.value) || !Number.isFinite(b.value)) return "";
  if (a.value === b.value) return "0";
  // An error that is nothing but rounding is none.
  return error > 1e-12 * Math.abs(b.value - a.value) ? `${plain((b.value - a.value) / error, 3)} \u03c3` : "exact";
}

function table(names, rows, sameSuns = () => true) {
  return h(
    "div",
    { class: "wide" },
    h(
      "table",
      { class: "plain compared" },
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          h("th", { scope: "col" }, ""),
          names.map((name, i) => [
            h("th", { scope: "col" }, name),
            i > 0 && h("th", { scope: "col" }, `apart from ${names[0]}`),
          ]),
        ),
      ),
      h(
        "tbody",
        {},
        rows.map(({ name, unit, estimates }) =>
          h(
            "tr",
            { "data-row": name },
            h("th", { scope: "row" }, name, unit && h("small", {}, unit)),
            estimates.map((e, i) => [
              h("td", { class: "number" }, e ? h("data", { value: e.value, "data-error": e.error }, withError(e)) : ""),
              i > 0 && h("td", { class: "number" }, e && estimates[0] ? apart(estimates[0], e, sameSuns(i)) : ""),
            ]),
          ),
        ),
      ),
    ),
  );
}

/// A number of all receivers' heat balances together, in % of DNI x aperture area. Their errors are added up: the same
/// rays decide over all of them.
function heatShare(file, set, of) {
  const found = file.receivers.map((r) => of(file, `/receivers/${r}/heat/${set}`)).filter(Boolean);
  const sum = (part) => found.reduce((total, e) => total + e[part], 0);
  return found.length > 0 && scaled({ value: sum("value"), error: sum("error") }, 100 / wholeOf(file));
}

/// Rows of the table that only receivers with a heat balance have.
function heatRows(files, of) {
  return [
    ["useful heat", "useful_heat_W"],
    ["maximum work", "work_W"],
  ]
    .map(([name, set]) => ({
      name,
      unit: "% of DNI \u00d7 aperture area",
      estimates: files.map((f) => heatShare(f, set, of)),
    }))
    .filter(({ estimates }) => estimates.some(Boolean));
}

/// Within a distance: share of what leaves the last mirror unblocked, so that receivers which miss light show it.
function ofAllLight(file, receiver) {
  const points = enclosedPoints(file, receiver),
    intercept = file.estimate(`/receivers/${receiver}/intercept_factor`)?.value;
  return points?.map((p) => ({ ...p, y: p.y * intercept, e: p.e * intercept }));
}

/// Maps of one receiver's name, side by side on one colour scale, which their irradiances may be read on.
function fluxesBeside(files, names, receiver) {
  const found = files.map((file, i) => ({ file, name: names[i], map: mapOf(file, receiver) })).filter(({ map }) => map);
  const most = Math.max(...found.map(({ map }) => map.flux.reduce((top, v) => (v > top ? v : top), 0)));
  if (found.length === 0) return [];
  return [
    h("h3", {}, receiver),
    h(
      "div",
      { class: "beside" },
      found.map(({ file, name }) => h("div", {}, h("h4", {}, name), fluxMap(file, receiver, most))),
    ),
  ];
}

/// The scenes, side by side.
function spacesBeside(entries, files, names) {
  const most = 8; // browsers keep some 16 pictures in space at a time
  const found = entries
    .map(({ view, rows }, i) => view && [names[i], { ...view, rows }, files[i]])
    .filter(Boolean)
    .slice(0, most);
  return (
    found.length > 0 &&
    section(
      "space",
      "The scenes in space",
      h(
        "div",
        { class: "beside" },
        found.map(([name, view, file]) => {
          const maps = new Map(file.receivers.map((r) => [r, mapOf(file, r)]).filter(([, map]) => map));
          return h("div", {}, h("h3", {}, name), sceneInSpace(view, maps));
        }),
      ),
    )
  );
}

/// Whether two schedules have the same suns, within a microradian.
function sameSuns(a, b) {
  const [one, other] = [a, b].map((f) => Array.from(f.values("/sun/to_sun"), number));
  return one.length === other.length && one.every((x, i) => Math.abs(x - other[i]) < 1e-6);
}

export function comparison(entries) {
  const files = entries.map(({ data }) => new Stored(data)),
    names = namesOf(files);
  const scheduled = files[0].isSchedule;
  const receivers = [...new Set(files.flatMap((file) => file.receivers))];
  const sections = [
    section(
      "files",
      "What is compared",
      h(
        "div",
        { class: "beside" },
        files.map((file, i) =>
          h("div", {}, h("h3", {}, names[i]), h("p", {}, file.attributes.title), whatWasTraced(file)),
        ),
      ),
    ),
  ];
  const note = h(
    "p",
    { class: "note" },
    `\u03c3: standard errors of the difference, where the runs are independent: other scenes or other seeds. ` +
      "Runs with the same seed share their random numbers. Chance is unlikely beyond 3 \u03c3.",
  );

  const otherSuns = h(
    "p",
    { class: "note" },
    `Not all have the suns of ${names[0]}: their differences are not in standard errors, which tell of chance alone.`,
  );

  if (!scheduled) {
    const row = (name, unit, of) => ({ name, unit, estimates: files.map(of) });
    const rows = [
      row("optical efficiency", "%", (f) => scaled(f.estimate("/optical_efficiency"), 100)),
      row("intercept factor", "%", (f) => scaled(f.estimate("/intercept_factor"), 100)),
      row("incident power", "W", (f) => f.estimate("/incident_power_W")),
      ...heatRows(files, (f, path) => f.estimate(path)),
      ...receivers.flatMap((r) =>
        [
          ["absorbed power", "W", "absorbed_power_W"],
          ["mean concentration", "suns", "mean_concentration"],
          ["peak concentration", "suns", "peak_concentration"],
        ].map(([name, unit, set]) => row(`${r}: ${name}`, unit, (f) => f.estimate(`/receivers/${r}/${set}`))),
      ),
    ];
    sections.push(section("numbers", "Numbers", table(names, rows), note));
    const terms = files.map((f) => budgetOf(f, 0));
    sections.push(
      section(
        "budget",
        "Where the light went",
        stackedBudgets(files.map((f, i) => ({ name: names[i], terms: terms[i], whole: wholeOf(f) }))),
        table(
          names,
          terms[0].map((term, k) =>
            row(words(term.name), "% of DNI \u00d7 aperture area", (f) =>
              scaled(terms[files.indexOf(f)][k], 100 / wholeOf(f)),
            ),
          ),
        ),
      ),
    );
    const curves = receivers
      .map((r) => {
        const lines = files
          .map((f, i) => ({ name: names[i], points: ofAllLight(f, r) }))
          .filter((line) => line.points);
        return (
          lines.length > 0 &&
          curveChart({
            name: `Power within a distance, ${r}`,
            lines,
            x: { label: "distance (m)" },
            y: { label: "share of the light that leaves the last mirror (%)", domain: [0, 100] },
            note: "A curve ends at the intercept factor: light that misses the receiver is in none of its distances.",
          })
        );
      })
      .filter(Boolean);
    if (curves.length > 0) sections.push(section("enclosed", "How concentrated the light is around its centre", curves));
    const maps = receivers.flatMap((r) => fluxesBeside(files, names, r));
    if (maps.length > 0) sections.push(section("flux", "Flux on the receivers", maps));
  } else {
    const overlay = (name, path, factor, label) => {
      const lines = files
        .map((f, i) => {
          const suns = sunsOf(f),
            values = f.values(path),
            errors = f.errors(path);
          return (
            values && {
              name: names[i],
              points: suns.map((sun, k) => ({
                x: onClock(sun),
                y: factor * number(values[k]),
                e: factor * number(errors?.[k] ?? 0),
                label: sun.label,
              })),
            }
          );
        })
        .filter(Boolean);
      const dated = lines.every((line) => line.points.every((p) => p.x instanceof Date));
      return (
        lines.length > 0 &&
        curveChart({ name, lines, y: { label, zero: true }, x: dated ? clockAxis(sunsOf(files[0])) : { label: "row" } })
      );
    };
    sections.push(
      section(
        "day",
        "Over the sun positions",
        [
          overlay("Optical efficiency", "/optical_efficiency", 100, "%"),
          overlay("Intercept factor", "/intercept_factor", 100, "%"),
          ...receivers.flatMap((r) => [
            overlay(`Absorbed by ${r}`, `/receivers/${r}/absorbed_power_W`, 1e-3, "kW"),
            overlay(`Useful heat of ${r}`, `/receivers/${r}/heat/useful_heat_W`, 1e-3, "kW"),
            overlay(`Peak concentration on ${r}`, `/receivers/${r}/peak_concentration`, 1, "\u00d7 DNI"),
          ]),
        ].filter(Boolean),
      ),
    );
    const mean = (f, path, factor) => {
      const set = f.set(path);
      return set?.mean && scaled({ value: number(set.mean[0]), error: number(set.mean_error[0]) }, factor);
    };
    const row = (name, unit, path, factor) => ({ name, unit, estimates: files.map((f) => mean(f, path, factor)) });
    sections.push(
      section(
        "numbers",
        "Means over the sun positions",
        table(names, [
          row("optical efficiency", "%", "/optical_efficiency", 100),
          row("intercept factor", "%", "/intercept_factor", 100),
          ...heatRows(files, (f, path) => mean(f, path, 1)),
          ...receivers.map((r) => row(`${r}: absorbed power`, "W", `/receivers/${r}/absorbed_power_W`, 1)),
        ], (i) => sameSuns(files[0], files[i])),
        files.every((f) => sameSuns(files[0], f)) ? note : otherSuns,
      ),
    );
  }
  sections.push(spacesBeside(entries, files, names));
  return { subtitle: names.join(", "), sections };
}
