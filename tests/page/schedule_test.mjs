// The page of a schedule: one sun chosen for budget, view and charts; what errors cost; what a search tried; slices.
import assert from "node:assert/strict";
import { test } from "node:test";
import { drawnShare, finishes, opened, pictureOf, run, stored, write } from "./browser.mjs";

// A small bowl with an absorber that is moved: invented, and quick to solve.
write(
  "bowl.toml",
  `schema = 1
title = "A small bowl (invented)"
[site]
name = "Plateau test field"
latitude_deg = 31
longitude_deg = -8
[sun]
dni_W_m2 = 900
shape = { kind = "disc" }
azimuth_deg = 180
elevation_deg = 70
${finishes}
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 10 }
aperture = { kind = "circle", diameter_m = 6 }
finish = "silver"
mount = { kind = "fixed" }
[[receiver]]
name = "plate"
shape = { kind = "disc", diameter_m = 0.8 }
finish = "black"
heat = { emittance = 0.5, temperature_K = 500 }
mount = { kind = "steered", home_m = [0, 0, 5], home_axis = [0, 0, -1], travel_m = [5, 5, 3], tilt_deg = 60 }
flux = { bins = [8, 8] }
`,
);
run(
  "steer",
  "bowl.toml",
  "--day",
  "2026-06-21",
  "--every",
  "3h",
  "--samples",
  "2^12",
  "--search-samples",
  "2^8",
  "--tolerance",
  "--free",
  "primary.bowl.shape.radius_m=9..11",
  "--evaluations",
  "4",
  "-q",
  "-o",
  "day.h5",
);
run("report", "day.h5");

const sunSlider = "#budget .slider input";

async function choose(page, row) {
  await page.$eval(
    sunSlider,
    (input, value) => {
      input.value = value;
      input.dispatchEvent(new Event("input"));
    },
    row,
  );
}

test("the slider of suns moves the budget to the file's rows", () =>
  opened("day.html", async (page) => {
    const file = stored("day.h5", "/budget/power_W", "/time", "/local_time");
    assert.ok(file["/time"].length >= 3);
    for (const row of [0, file["/time"].length - 1]) {
      await choose(page, row);
      const shown = await page.$$eval(".waterfall tr[data-term] data", (all) => all.map((e) => Number(e.value)));
      assert.deepEqual(shown.slice(1), file["/budget/power_W"][row]);
      assert.ok((await page.textContent("#budget .slider output")).includes(file["/local_time"][row].slice(11, 16)));
      // The other slider, at the view in space, goes along.
      assert.equal(await page.$eval("#space .slider input", (e) => Number(e.value)), row);
    }
  }));

test("heat is drawn through the day and told for the sun of the slider", () =>
  opened("day.html", async (page) => {
    const names = ["heat_in_W", "useful_heat_W", "work_W"],
      of = (name) => `/receivers/plate/heat/${name}`;
    const file = stored("day.h5", ...names.map(of), of("useful_heat_standard_error_W"));
    const curves = await numbersOf(page, "Heat of plate at 500 K"),
      rows = file[of("work_W")].length;
    names.forEach((name, k) =>
      file[of(name)].forEach((v, i) => assert.ok(close(curves[k * rows + i][2], v / 1000), `${curves[k * rows + i]}`)),
    );
    for (const row of [0, rows - 1]) {
      await choose(page, row);
      const told = await page.$eval('[data-heat="plate"] [data-row="useful_heat_W"] data', (e) => [
        Number(e.value),
        Number(e.dataset.error),
      ]);
      assert.deepEqual(told, [file[of("useful_heat_W")][row], file[of("useful_heat_standard_error_W")][row]]);
      assert.equal(await page.$eval("#heat .slider input", (e) => Number(e.value)), row);
    }
  }));

test("the view in space follows the sun", () =>
  opened("day.html", async (page) => {
    assert.ok((await drawnShare(page, "canvas.space")) > 0.05);
    await choose(page, 0);
    const morning = await pictureOf(page, "canvas.space");
    await choose(page, 2);
    assert.notEqual(await pictureOf(page, "canvas.space"), morning);
    await choose(page, 0);
    assert.equal(await pictureOf(page, "canvas.space"), morning);
  }));

/// The numbers under a chart: [[curve, x, y, error]], or without curve where there is one.
const numbersOf = (page, chart) =>
  page.$eval(`[data-chart="${chart}"] table`, (table) =>
    [...table.querySelectorAll("tbody tr")].map((row) => [...row.children].map((cell) => cell.textContent)),
  );

const close = (text, value) => Math.abs(Number(text) - value) <= 1e-5 * Math.abs(value); // six digits are shown

test("day curves and pose curves hold the file's numbers", () =>
  opened("day.html", async (page) => {
    const file = stored("day.h5", "/optical_efficiency", "/intercept_factor", "/poses/plate/offset_m");
    const efficiency = await numbersOf(page, "Efficiency through the day");
    const rows = file["/optical_efficiency"].length;
    assert.equal(efficiency.length, 2 * rows);
    file["/optical_efficiency"].forEach((v, i) => assert.ok(close(efficiency[i][2], 100 * v), `${efficiency[i]}`));
    file["/intercept_factor"].forEach((v, i) =>
      assert.ok(close(efficiency[rows + i][2], 100 * v), `${efficiency[rows + i]}`),
    );
    const offset = await numbersOf(page, "plate: offset from home");
    file["/poses/plate/offset_m"].forEach(([east, north, up], i) =>
      [east, north, up].forEach((v, k) => assert.ok(close(offset[k * rows + i][2], v), `${offset[k * rows + i]}`)),
    );
  }));

test("the search's variants and the costs of errors are there", () =>
  opened("day.html", async (page) => {
    const file = stored("day.h5", "/design/value", "/design/objective");
    const rows = await page.$$eval("#design table tbody tr", (all) =>
      all.map((row) => [...row.children].map((cell) => cell.textContent)),
    );
    const tried = file["/design/value"]
      .map(([x], i) => [x, file["/design/objective"][i]])
      .filter(([, y]) => y !== null)
      .sort((a, b) => a[0] - b[0]);
    assert.equal(rows.length, tried.length);
    tried.forEach(([x, y], i) => assert.ok(close(rows[i][0], x) && close(rows[i][1], y), `${rows[i]}`));
    const charts = await page.$$eval("#tolerance figure", (all) => all.map((e) => e.dataset.chart));
    assert.ok(charts.length >= 2);
    // Each chart says which errors it draws, also where it is one alone.
    for (const kind of ["pointing x", "pointing z", "position up"])
      assert.ok(charts.some((name) => name.includes("with an error of") && name.includes(kind)), `${kind}: ${charts}`);
    const [before, after] = ["/design/original_mean", "/design/best_mean"].map((path) => stored("day.h5", path)[path]);
    assert.ok(Math.abs(Number(await page.getAttribute("#design [data-gain]", "data-gain")) - (after - before)) < 1e-12);
  }));

// A dish that follows the sun by its mount's law, built twenty times: invented.
write(
  "dish.toml",
  `schema = 1
title = "A small dish (invented)"
[site]
name = "Plateau test field"
latitude_deg = 31
longitude_deg = -8
[sun]
shape = { kind = "disc" }
azimuth_deg = 180
elevation_deg = 70
${finishes}
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 3 }
aperture = { kind = "circle", diameter_m = 4 }
finish = "silver"
mount = { kind = "two_axis", pivot_m = [0, 0, 3], offset_m = [0, 0, -1] }
[[receiver]]
name = "plate"
shape = { kind = "disc", diameter_m = 0.06 }
finish = "black"
mount = { kind = "carried", by = "dish", position_m = [0, 0, 3], axis = [0, 0, -1] }
`,
);
run(
  ...["steer", "dish.toml", "--day", "2026-06-21", "--every", "4h", "--samples", "2^12", "--replicates", "4", "-q"],
  ...["--realisations", "20", "--draw", "focus=1%", "-o", "law.h5"],
);
run("report", "law.h5");

test("what follows a law has its place, and its builds their chart", () =>
  opened("law.html", async (page) => {
    const file = stored(
      "law.h5",
      "/poses/dish/position_m",
      "/realisations/absorbed_share",
      "/realisations/mean_absorbed_share",
    );
    const note = await page.textContent('[data-chart^="20 builds"] .note');
    const said = Number(/the mean, ([\d.]+)/.exec(note)[1]);
    const mean = 100 * file["/realisations/mean_absorbed_share"];
    assert.ok(Math.abs(said - mean) < 0.06 && mean > 10, `${note} ${mean}`); // two digits of its error are shown
    const rows = file["/poses/dish/position_m"].length;
    const place = await numbersOf(page, "dish: where its law has it");
    file["/poses/dish/position_m"].forEach((at, i) =>
      at.forEach((v, k) => assert.ok(close(place[k * rows + i][2], v) || Math.abs(v) < 1e-12, `${place[k * rows + i]}`)),
    );
    const builds = await numbersOf(page, "20 builds, each with its own random errors");
    const shares = file["/realisations/absorbed_share"].sort((a, b) => a - b);
    assert.equal(builds.length, 20);
    shares.forEach((v, k) => assert.ok(close(builds[k][0], 100 * v) && close(builds[k][1], (100 * (k + 1)) / 21)));
  }));

test("a slice follows its slider and its axis", () =>
  opened("day.html", async (page) => {
    const file = stored("day.h5", "/budget/power_W", "/budget/term");
    await page.selectOption("#slices select >> nth=0", "/budget/power_W");
    await page.selectOption("#slices select >> nth=1", { label: "term" });
    const terms = () =>
      page.$$eval("#slices table tbody tr", (all) => all.map((row) => Number(row.children[1].textContent)));
    for (const row of [0, 2]) {
      await page.$eval(
        "#slices input[type=range]",
        (input, value) => {
          input.value = value;
          input.dispatchEvent(new Event("input"));
        },
        row,
      );
      const shown = await terms();
      assert.equal(shown.length, file["/budget/term"].length);
      shown.forEach((v, i) => assert.ok(close(v, file["/budget/power_W"][row][i]), `${v}`));
    }
  }));

test("twelve days of a year have twelve looks, and slices keep the site's clock", async () => {
  run(
    ...["steer", "dish.toml", "--twelve-days", "2026", "--every", "5h", "--utc-offset", "-01:00", "--samples", "2^12"],
    ...["--replicates", "4", "-q", "-o", "days.h5"],
  );
  run("report", "days.h5");
  await opened("days.html", async (page) => {
    const looks = await page.$$eval('[data-chart="Optical efficiency"] .legend line', (all) =>
      all.map((e) => `${e.getAttribute("stroke")} ${e.getAttribute("stroke-dasharray")}`),
    );
    assert.equal(looks.length, 12);
    assert.equal(new Set(looks).size, 12);
    const file = stored("days.h5", "/local_time");
    const first = await page.$eval("#slices .slice table tbody tr td", (e) => e.textContent);
    assert.equal(first, file["/local_time"][0].replace("T", " "));
    assert.match(await page.$eval("#slices .slice svg", (e) => e.textContent), /time on the site's clock/);
  });
});
