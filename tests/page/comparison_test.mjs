// catoptra compare: numbers and differences in standard errors.
import assert from "node:assert/strict";
import { test } from "node:test";
import { opened, run, shipped, stored } from "./browser.mjs";

for (const [name, seed] of [
  ["a", "1"],
  ["b", "2"],
])
  run("trace", shipped("dish.toml"), "--samples", "2^14", "--seed", seed, "-q", "-o", `${name}.h5`);
run("trace", shipped("bowl.toml"), "--samples", "2^14", "-q", "-o", "c.h5");
run("compare", "a.h5", "b.h5", "c.h5", "-o", "beside.html");

test("the table holds the files' numbers and how far apart they are", () =>
  opened("beside.html", async (page) => {
    const files = ["a.h5", "b.h5", "c.h5"].map((file) =>
      stored(
        file,
        "/optical_efficiency",
        "/budget/power_W",
        "/budget/power_standard_error_W",
        "/sun/dni_W_m2",
        "/aperture_area_m2",
      ),
    );
    const row = (name) =>
      page.$eval(`tr[data-row="${name}"]`, (e) => ({
        values: [...e.querySelectorAll("data")].map((d) => [Number(d.value), Number(d.dataset.error)]),
        cells: [...e.querySelectorAll("td")].map((d) => d.textContent),
      }));
    const efficiency = await row("optical efficiency");
    files.forEach((file, i) => assert.equal(efficiency.values[i][0], 100 * file["/optical_efficiency"]));
    const spilled = await row("spillage");
    // Spillage is the seventh term.
    const share = (file, set) => (100 * file[set][6]) / (file["/sun/dni_W_m2"] * file["/aperture_area_m2"]);
    const of = (file) => [share(file, "/budget/power_W"), share(file, "/budget/power_standard_error_W")];
    files.forEach((file, i) =>
      of(file).forEach((v, k) => assert.ok(Math.abs(spilled.values[i][k] - v) <= 1e-12 * v, `${spilled.values[i]}`)),
    );
    const [[a, ea], [c, ec]] = [of(files[0]), of(files[2])];
    const apart = Number(spilled.cells.at(-1).replace("\u2212", "-").replace(" \u03c3", ""));
    const expected = (c - a) / Math.hypot(ea, ec);
    // Three digits are shown.
    assert.ok(Math.abs(apart - expected) <= 0.006 * Math.abs(expected), `${apart} instead of ${expected}`);
  }));

test("curves of all files share a chart", () =>
  opened("beside.html", async (page) => {
    const names = await page.$$eval('[data-chart="Power within a distance, focus"] .legend li', (all) =>
      all.map((e) => e.textContent),
    );
    assert.deepEqual(names, ["a", "b"]);
  }));

test("heat stands in the table where a file has it", async () => {
  run("trace", shipped("dish-window.toml"), "--samples", "2^14", "-q", "-o", "window.h5");
  run("compare", "a.h5", "window.h5", "-o", "heat.html");
  await opened("heat.html", async (page) => {
    const set = "/receivers/focus/heat/work_W";
    const file = stored("window.h5", set, "/sun/dni_W_m2", "/aperture_area_m2");
    const shown = await page.$$eval('tr[data-row="maximum work"] data', (all) => all.map((e) => Number(e.value)));
    assert.equal(shown.length, 1);
    const expected = (100 * file[set]) / (file["/sun/dni_W_m2"] * file["/aperture_area_m2"]);
    assert.ok(Math.abs(shown[0] - expected) <= 1e-12 * Math.abs(expected));
  });
  await opened("beside.html", async (page) => assert.equal(await page.$('tr[data-row="useful heat"]'), null));
});

test("budgets stand one under the other, each whole, in the shares of the file", () =>
  opened("beside.html", async (page) => {
    const bars = await page.$$eval(".stacked svg[role=img]", (all) =>
      all.map((bar) =>
        Object.fromEntries(
          [...bar.querySelectorAll("rect")].map((e) => [e.dataset.term, Number.parseFloat(e.getAttribute("width"))]),
        ),
      ),
    );
    assert.equal(bars.length, 3);
    ["a.h5", "b.h5", "c.h5"].forEach((name, i) => {
      const file = stored(name, "/optical_efficiency");
      assert.ok(Math.abs(bars[i].absorbed - 100 * file["/optical_efficiency"]) < 0.001, JSON.stringify(bars[i]));
      const sum = Object.values(bars[i]).reduce((total, width) => total + width, 0);
      assert.ok(Math.abs(sum - 100) < 0.2, `${sum}`); // terms below 0.05 % are not drawn
    });
  }));

test("maps of one receiver share a colour scale, curves end at the intercept factor, scenes stand side by side", () =>
  opened("beside.html", async (page) => {
    const tops = await page.$$eval('[data-receiver="focus"] .colour-bar', (all) =>
      all.map((e) => /0 to ([\d.]+)/.exec(e.getAttribute("aria-label"))[1]),
    );
    const flux = ["a.h5", "b.h5"].map((name) =>
      stored(name, "/receivers/focus/flux_W_m2")["/receivers/focus/flux_W_m2"].flat().reduce((top, v) => (v > top ? v : top), 0),
    );
    assert.equal(tops.length, 2);
    tops.forEach((top) => assert.ok(Math.abs(Number(top) - Math.max(...flux) / 1000) < 1e-3 * Number(top), `${tops}`));
    const factor = stored("a.h5", "/receivers/focus/intercept_factor")["/receivers/focus/intercept_factor"];
    const ends = await page.$$eval('[data-chart="Power within a distance, focus"] table tbody tr', (rows) =>
      rows.filter((row) => row.children[0].textContent === "a").map((row) => Number(row.children[2].textContent)),
    );
    assert.ok(Math.abs(ends.at(-1) - 100 * factor) < 1e-3, `${ends.at(-1)} ${factor}`);
    assert.equal(await page.locator("#space canvas").count(), 3);
  }));
