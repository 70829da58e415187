// A result's sections: of one instant, or of a schedule.
import { keyFigures, provenance, sunWords as sunPlace, warnings, whatWasTraced } from "./about.js";
import { budgetOf, partsTable, waterfall, wholeOf } from "./budget.js";
import { h, section, slider } from "./dom.js";
import { enclosedCurve } from "./enclosed.js";
import { fluxMap } from "./flux.js";
import { heatSection } from "./heat.js";
import { plain } from "./numbers.js";
import { dayCurves, poseCurves, scheduleWords, sunsOf } from "./schedule.js";
import { buildsChart, designCharts, slices, toleranceCharts } from "./slices.js";
import { sectionDrawing } from "./section.js";
import { pathsOf, sceneInSpace } from "./space.js";
import { number, Stored } from "./stored.js";
import { mapOf } from "./unroll.js";

/// What `make` builds of a row, made anew for the sun that a slider chooses.
function atMoment(make, onMoment) {
  const box = h("div", {});
  const draw = (i) => box.replaceChildren(h("div", {}, make(i)));
  draw(0);
  onMoment.push(draw);
  return box;
}

export function resultSections({ data, view, rows }) {
  const file = new Stored(data),
    scheduled = file.isSchedule,
    suns = scheduled ? sunsOf(file) : [];
  const onMoment = [];
  let moment = 0;
  // Noon or thereabouts says more than the first sun.
  const highest = scheduled
    ? Array.from(file.values("/sun/elevation_deg"), number).reduce((top, v, i, all) => (v > all[top] ? i : top), 0)
    : 0;
  const sunWords = (i) => `${suns[i].label}, sun at ${plain(file.values("/sun/elevation_deg")[i], 3)}° elevation`;
  const sunSlider = () =>
    scheduled &&
    suns.length > 1 &&
    slider({ label: "sun", count: suns.length, start: 0, words: sunWords, onchange: (i) => setMoment(i) });
  const sliders = [sunSlider(), sunSlider(), sunSlider(), sunSlider()].filter(Boolean);
  const setMoment = (i) => {
    if (i === moment) return;
    moment = i;
    sliders.forEach((one) => Number(one.querySelector("input").value) !== i && one.go(i));
    onMoment.forEach((act) => act(i));
  };

  const maps = new Map(file.receivers.map((r) => [r, mapOf(file, r)]).filter(([, map]) => map));
  const space = view && sceneInSpace({ ...view, rows }, maps);
  if (space) onMoment.push(space.showRow);
  const cut = view && sectionDrawing({ ...view, rows }, pathsOf(view.paths));
  if (cut) onMoment.push(cut.showRow);
  const charts = scheduled ? dayCurves(file, () => moment) : [],
    poses = scheduled ? poseCurves(file, () => moment) : [];
  onMoment.push(() => [...charts, ...poses].forEach((chart) => chart.again()));
  const tolerance = [...toleranceCharts(file), buildsChart(file)].filter(Boolean),
    design = designCharts(file),
    tables = slices(file);
  const enclosed = file.receivers.map((r) => enclosedCurve(file, r)).filter(Boolean);
  const heat = heatSection(file, 0) && atMoment((i) => heatSection(file, i), onMoment);
  const fluxes = file.receivers.map((r) => fluxMap(file, r)).filter(Boolean);

  const sections = [
    section("first", "Key figures", warnings(file), keyFigures(file), whatWasTraced(file)),
    scheduled && section("day", "Over the sun positions", charts),
    section(
      "space",
      "The scene in space",
      sliders[0],
      space || h("p", { class: "note" }, "This program could not build the scene again, so there is no view in space."),
    ),
    cut && section("section", "A section through the scene", sliders[1], cut),
    section(
      "budget",
      "Where the light went",
      sliders[2],
      atMoment((i) => waterfall(budgetOf(file, i), wholeOf(file), file.estimate("/closure_W", i)), onMoment),
      partsTable(file),
    ),
    heat && section("heat", "Heat balance", sliders[3], heat),
    fluxes.length > 0 &&
      section(
        "flux",
        "Flux on the receivers",
        fluxes.map((map, i) => [h("h3", {}, file.receivers[i]), map]),
      ),
    enclosed.length > 0 && section("enclosed", "How concentrated the light is around its centre", enclosed),
    poses.length > 0 && section("poses", "Poses of the moving mirrors", poses),
    design && section("design", "What the search tried", design),
    tolerance.length > 0 && section("tolerance", "What errors cost", tolerance),
    tables && section("slices", "Tables, one slice at a time", tables),
    section("origin", "Where these numbers come from", provenance(file)),
  ];
  if (scheduled) setMoment(highest);
  const subtitle = scheduled
    ? scheduleWords(file)
    : `one instant: sun at ${sunPlace(file)}; receivers: ${file.receivers.join(", ")}`;
  return { subtitle, sections };
}
