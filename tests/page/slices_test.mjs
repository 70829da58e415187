// Tables over three axes and more, a slice at a time: whatever has dimension scales can be cut, also what no verb writes
// yet. The tables are invented here and put into a real result by h5py.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { test } from "node:test";
import { dishWith, folder, opened, plate, run, stored, write } from "./browser.mjs";

write("dish.toml", dishWith("A dish with a table of numbers", plate));
run("trace", "dish.toml", "--samples", "2^12", "-q");

// Three axes with a length, words and a count; four with one of length 1 and another of the same name; and one table
// without errors. Every value is another number; one is none, and one slice has none at all.
execFileSync(
  "/usr/bin/python3",
  [
    "-c",
    `
import h5py, numpy as np
with h5py.File("dish.h5", "a") as f:
    def put(name, values, units, long_name, over=()):
        f[name] = values
        f[name].attrs["units"], f[name].attrs["long_name"] = units, long_name
        for axis, scale in enumerate(over): f[name].dims[axis].attach_scale(f[scale])
        if not over: f[name].make_scale(name)
    put("/table/radius_m", np.array([0.1, 0.15, 0.2, 0.4]), "m", "radius of the receiver")
    put("/table/finish", np.array(["old_black", "new black", "grey"], dtype=h5py.string_dtype()), "1", "finish of the receiver")
    put("/table/rows", np.arange(6) * 2, "1", "number of rows")
    put("/table/other/radius_m", np.array([1.0, 2.0]), "m", "radius of the mirror")
    put("/table/once_K", np.array([300.0]), "K", "temperature")
    over = ["/table/radius_m", "/table/finish", "/table/rows"]
    value = 1000 + 137 * np.arange(72.0).reshape(4, 3, 6)
    value[1, 2, 3] = value[2, 1, :] = np.nan
    put("/table/power_W", value, "W", "invented power", over)
    f["/table/power_W"].attrs["ancillary_variables"] = "power_standard_error_W"
    put("/table/power_standard_error_W", 3 + 0.25 * np.arange(72.0).reshape(4, 3, 6), "W", "its standard error", over)
    put("/table/gain", np.arange(48.0).reshape(4, 1, 2, 6), "1", "invented gain",
        ["/table/radius_m", "/table/once_K", "/table/other/radius_m", "/table/rows"])
`,
  ],
  { cwd: folder },
);
run("report", "dish.h5");

const slice = "#slices .slice";
const rowsOf = (page) =>
  page.$$eval(`${slice} table tbody tr`, (all) =>
    all.map((row) => [...row.children].map((cell) => cell.textContent)),
  );
const close = (text, value) => Math.abs(Number(text) - value) <= 1e-5 * Math.abs(value); // six digits are shown

async function along(page, words) {
  await page.getByRole("combobox", { name: "along the chart" }).selectOption({ label: words });
}

async function slideTo(page, words, place) {
  await page.getByRole("slider", { name: words, exact: true }).evaluate((input, value) => {
    input.value = value;
    input.dispatchEvent(new Event("input"));
  }, place);
}

/// Every slice of a three-axis table, along each of its axes.
test("the sliders of all axes cut a table where they say", () =>
  opened("dish.html", async (page) => {
    const names = ["radius_m", "finish", "rows"];
    const file = stored("dish.h5", "/table/power_W", "/table/power_standard_error_W", ...names.map((n) => `/table/${n}`));
    const scales = names.map((name) => file[`/table/${name}`]);
    const labels = ["radius", "finish", "rows"];
    const said = [(v) => `${v} m`, (v) => v.replaceAll("_", " "), String];
    await page.getByRole("combobox", { name: "numbers" }).selectOption("/table/power_W");
    for (const axis of [0, 1, 2]) {
      await along(page, labels[axis]);
      const others = [0, 1, 2].filter((k) => k !== axis);
      assert.equal(await page.locator("#slices input[type=range]").count(), 2);
      for (let a = 0; a < scales[others[0]].length; ++a)
        for (let b = 0; b < scales[others[1]].length; ++b) {
          const at = [0, 0, 0];
          [at[others[0]], at[others[1]]] = [a, b];
          for (const k of others) {
            await slideTo(page, labels[k], at[k]);
            const output = page.locator("#slices .slider", { has: page.getByRole("slider", { name: labels[k], exact: true }) });
            assert.equal(await output.locator("output").textContent(), said[k](scales[k][at[k]]));
          }
          const rows = await rowsOf(page);
          assert.equal(rows.length, scales[axis].length);
          rows.forEach(([x, y, e], i) => {
            at[axis] = i;
            const [p, q, r] = at;
            const value = file["/table/power_W"][p][q][r];
            assert.equal(x, said[axis](scales[axis][i]));
            if (value === null) assert.equal(y, "not defined");
            else assert.ok(close(y, value), `${y} at ${at} is ${value}`);
            assert.ok(close(e, file["/table/power_standard_error_W"][p][q][r]), `error ${e} at ${at}`);
          });
        }
    }
  }));

test("words stand in the file's order, as dots that no line joins", () =>
  opened("dish.html", async (page) => {
    await page.getByRole("combobox", { name: "numbers" }).selectOption("/table/power_W");
    await along(page, "finish");
    await page.waitForFunction((s) => document.querySelectorAll(`${s} svg circle`).length === 3, slice);
    const across = await page.$$eval(`${slice} svg circle`, (all) => all.map((e) => Number(e.getAttribute("cx"))));
    assert.ok(across[0] < across[1] && across[1] < across[2], `${across}`); // values rise with the finish's number
    const up = await page.$$eval(`${slice} svg circle`, (all) => all.map((e) => -Number(e.getAttribute("cy"))));
    assert.ok(up[0] < up[1] && up[1] < up[2], `${up}`);
    assert.equal(await page.locator(`${slice} svg [aria-label=line]`).count(), 0);
    await along(page, "radius");
    await page.waitForFunction((s) => document.querySelectorAll(`${s} svg circle`).length === 4, slice);
    assert.equal(await page.locator(`${slice} svg [aria-label=line]`).count(), 1);
  }));

test("an axis of length 1 has no slider, axes of one name are told apart, what has no error shows none", () =>
  opened("dish.html", async (page) => {
    const file = stored("dish.h5", "/table/gain");
    await page.getByRole("combobox", { name: "numbers" }).selectOption("/table/gain");
    await along(page, "rows");
    const sliders = await page.$$eval("#slices .slider span", (all) => all.map((e) => e.textContent));
    assert.deepEqual(sliders, ["numbers", "along the chart", "table, radius", "table, other, radius"]);
    await slideTo(page, "table, radius", 2);
    await slideTo(page, "table, other, radius", 1);
    const rows = await rowsOf(page);
    assert.deepEqual(
      rows.map(([, y, e]) => [Number(y), Number(e)]),
      file["/table/gain"][2][0][1].map((v) => [v, 0]),
    );
  }));

test("the choice of an axis keeps the focus, so that the keyboard goes on", () =>
  opened("dish.html", async (page) => {
    const choice = page.getByRole("combobox", { name: "along the chart" });
    await choice.focus();
    await choice.press("ArrowDown");
    assert.ok(await choice.evaluate((e) => e === document.activeElement));
  }));

test("what is hidden is errors alone", () =>
  opened("dish.html", async (page) => {
    const options = await page
      .getByRole("combobox", { name: "numbers" })
      .locator("option")
      .evaluateAll((all) => all.map((e) => e.value));
    assert.deepEqual(options.filter((value) => value.startsWith("/table")).sort(), ["/table/gain", "/table/power_W"]);
  }));
