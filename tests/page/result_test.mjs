// The page of one instant: numbers, flux map, cuts, view in space, colours, paper.
import assert from "node:assert/strict";
import { test } from "node:test";
import { dishWith, drawnShare, opened, pictureOf, plate, run, shipped, stored, write } from "./browser.mjs";

run("trace", shipped("dish.toml"), "--samples", "2^16", "-q", "-o", "dish.h5");
run("report", "dish.h5");
run("trace", shipped("bowl.toml"), "--samples", "2^16", "-q", "-o", "bowl.h5");
run("report", "bowl.h5");

// A cone of 0.4 m and 0.8 m radius.
write(
  "cone.toml",
  dishWith(
    "A cone in the focus",
    `name = "cone"
shape = { kind = "cone", bottom_radius_m = 0.8, top_radius_m = 0.4, height_m = 1 }
mount = { kind = "carried", by = "dish", position_m = [0, 0, 4.5], axis = [0, 0, 1] }
flux = { bins = [24, 8] }`,
  ),
);
run("trace", "cone.toml", "--samples", "2^14", "-q");
run("report", "cone.h5");

run("trace", shipped("trough-glass.toml"), "--samples", "2^14", "-q", "-o", "tube.h5");
run("report", "tube.h5");
// A receiver that loses nothing has no temperature at which all is lost.
write(
  "lossless.toml",
  dishWith("A receiver that loses nothing", `${plate}\nheat = { emittance = 0, temperature_K = 600 }`),
);
run("trace", "lossless.toml", "--samples", "2^12", "-q");
run("report", "lossless.h5");

/// What is read is the value to the place of its error's second digit.
function assertRead(text, { value, error }) {
  const [read, readError] = text.split(" \u00b1 ").map(parseFloat);
  assert.ok(Math.abs(readError - error) <= 0.05 * error, text);
  assert.ok(Math.abs(read - value) <= 0.06 * error, text);
}

test("losses to which several components add are told by component", () =>
  opened("bowl.html", async (page) => {
    const file = stored(
      "bowl.h5",
      "/budget/term",
      "/budget/component",
      "/budget/power_W",
      "/budget/power_by_component_W",
      "/budget/power_by_component_standard_error_W",
    );
    const terms = file["/budget/term"],
      names = file["/budget/component"],
      powers = file["/budget/power_by_component_W"].flat(),
      errors = file["/budget/power_by_component_standard_error_W"].flat();
    const groups = await page.$$eval("table.parts tbody", (all) =>
      all.map((body) => ({
        term: body.dataset.term,
        parts: [...body.rows].map((row) => ({
          name: [...row.querySelectorAll("th")].at(-1).textContent,
          value: Number(row.querySelector("data").value),
          error: Number(row.querySelector("data").dataset.error),
        })),
      })),
    );
    assert.deepEqual(
      groups.map((group) => group.term),
      terms.filter((_, t) => names.filter((_, c) => powers[c * terms.length + t] !== 0).length > 1),
    );
    assert.ok(groups.length > 0);
    for (const { term, parts } of groups) {
      const t = terms.indexOf(term);
      for (const { name, value, error } of parts) {
        const place = names.indexOf(name) * terms.length + t;
        assert.equal(value, powers[place]);
        assert.equal(error, errors[place]);
      }
      const sum = parts.reduce((all, part) => all + part.value, 0);
      assert.ok(Math.abs(sum - file["/budget/power_W"][t]) < 1e-9 * sum, term);
    }
  }));

test("the waterfall's numbers are the file's", () =>
  opened("dish.html", async (page) => {
    const file = stored(
      "dish.h5",
      "/budget/term",
      "/budget/power_W",
      "/budget/power_standard_error_W",
      "/sun/dni_W_m2",
      "/aperture_area_m2",
    );
    const rows = await page.$$eval(".waterfall tr[data-term]", (all) =>
      all.map((row) => ({
        term: row.dataset.term,
        value: Number(row.querySelector("data").value),
        error: Number(row.querySelector("data").dataset.error),
        left: parseFloat(row.querySelector("rect").getAttribute("x")),
        width: parseFloat(row.querySelector("rect").getAttribute("width")),
        words: [...row.querySelectorAll("td.number")].map((cell) => cell.textContent),
      })),
    );
    const whole = file["/sun/dni_W_m2"] * file["/aperture_area_m2"];
    assert.equal(rows[0].value, whole);
    assert.deepEqual(
      rows.slice(1).map((row) => row.term),
      file["/budget/term"],
    );
    assert.deepEqual(
      rows.slice(1).map((row) => row.value),
      file["/budget/power_W"],
    );
    assert.deepEqual(
      rows.slice(1).map((row) => row.error),
      file["/budget/power_standard_error_W"],
    );
    // Bars: as long as their share, each ending where the one before began; drawn to a thousandth of a percent.
    let end = 100;
    for (const row of rows.slice(1)) {
      assert.ok(Math.abs(row.width - (100 * row.value) / whole) <= 0.0006, `${row.term} is ${row.width} wide`);
      if (row.term !== "absorbed")
        assert.ok(Math.abs(row.left + row.width - end) <= 0.002, `${row.term} ends at ${row.left + row.width}`);
      else assert.ok(Math.abs(row.width - end) <= 0.002, "what is left is what is absorbed");
      end = row.left;
    }
    for (const row of rows.filter((one) => one.error > 0)) assertRead(row.words[0], row);
  }));

const heatRows = (page) =>
  page.$$eval("[data-heat] tr", (all) =>
    all.map((row) => ({
      name: row.dataset.row,
      value: Number(row.querySelector("data").value),
      error: Number(row.querySelector("data").dataset.error),
      text: row.querySelector("data").textContent,
    })),
  );

test("the heat balance is the file's", async () => {
  const names = [
    ...["heat_in_W", "heat_loss_W", "useful_heat_W", "receiver_efficiency", "work_W"],
    ...["stagnation_temperature_K", "best_temperature_K", "best_work_W"],
  ];
  const of = (name) => `/receivers/tube/heat/${name}`,
    errorOf = (name) => of(name.replace(/(_W|_K|)$/, "_standard_error$1"));
  const exact = "heat_loss_W";
  await opened("tube.html", async (page) => {
    const file = stored("tube.h5", ...names.map(of), ...names.filter((n) => n !== exact).map(errorOf));
    const rows = await heatRows(page);
    assert.deepEqual(
      rows.map((row) => row.name),
      names,
    );
    for (const row of rows) {
      assert.equal(row.value, file[of(row.name)]);
      assert.equal(row.error, row.name === exact ? 0 : file[errorOf(row.name)]);
      if (row.error > 0) assertRead(row.text, row);
    }
    assert.match(rows[0].text, / W$/);
    assert.match(rows[5].text, / K$/);
    assert.match(await page.textContent("[data-heat] figcaption"), /^tube, .* at 663 K$/); // the scene's
  });
  await opened("lossless.html", async (page) => {
    const said = Object.fromEntries((await heatRows(page)).map((row) => [row.name, row.text]));
    assert.equal(said.heat_loss_W, "0 W");
    assert.equal(said.stagnation_temperature_K, "infinite");
    assert.equal(said.best_temperature_K, "infinite");
  });
  await opened("dish.html", async (page) => assert.equal(await page.$("#heat"), null));
});

test("key figures, provenance, how to run it again and the caution are there", () =>
  opened("dish.html", async (page) => {
    const file = stored("dish.h5", "/scene/source");
    assert.equal(await page.$eval(".source pre", (e) => e.textContent), file["/scene/source"]);
    assert.match(await page.textContent(".command"), /^catoptra trace .*dish\.toml --samples 2\^16 -q -o dish\.h5$/);
    assert.match(await page.textContent(".caution"), /burns skin, blinds.*local codes/);
    assert.match(
      await page.textContent("#first"),
      /optical efficiency.*%.*intercept factor.*%.*absorbed by focus.*kW/s,
    );
  }));

test("the map's peak, its reading and its cuts are the file's", () =>
  opened("dish.html", async (page) => {
    const file = stored("dish.h5", "/receivers/focus/flux_W_m2", "/receivers/focus/flux_standard_error_W_m2");
    const flux = file["/receivers/focus/flux_W_m2"];
    const peak = Math.max(...flux.flat().filter((v) => v !== null));
    const map = page.locator(".map");
    await map.scrollIntoViewIfNeeded();
    const [i, j] = (await page.getAttribute(".reading", "data-bin")).split(" ").map(Number);
    assert.equal(flux[i][j], peak); // it starts at the peak

    // A quarter of the way from the left, half way up: the bin that lies there.
    const frame = await map.evaluate((svg) => {
      const x = svg.scale("x"),
        y = svg.scale("y"),
        box = svg.getBoundingClientRect(),
        zoom = box.width / svg.getAttribute("width");
      const at = (a, b) => [box.left + zoom * x.apply(a), box.top + zoom * y.apply(b)];
      return at(x.domain[0] + 0.25 * (x.domain[1] - x.domain[0]), y.domain[0] + 0.51 * (y.domain[1] - y.domain[0]));
    });
    await page.mouse.move(...frame);
    await page.waitForFunction((old) => document.querySelector(".reading").dataset.bin !== old, `${i} ${j}`);
    const bin = (await page.getAttribute(".reading", "data-bin")).split(" ").map(Number);
    assert.ok(Math.abs(bin[0] - 0.25 * flux.length) <= 1, `column ${bin[0]}`);
    assert.equal(bin[1], Math.floor(0.51 * flux[0].length));
    const said = await page.textContent(".reading");
    const value = Number(/: ([\d.]+) \u00b1 [\d.]+ kW/.exec(said)[1]);
    const error = file["/receivers/focus/flux_standard_error_W_m2"][bin[0]][bin[1]];
    assert.ok(Math.abs(1000 * value - flux[bin[0]][bin[1]]) <= 0.06 * error, said);

    // The cuts follow: their captions, and the curve has a point for each bin with light inside.
    assert.match(await page.textContent("[data-cut=first] figcaption"), /^cut at y /);
    const before = await page.$eval("[data-cut=first] svg", (e) => e.outerHTML);
    await map.press("ArrowDown");
    assert.equal(await page.getAttribute(".reading", "data-bin"), `${bin[0]} ${bin[1] - 1}`);
    await page.waitForFunction((old) => document.querySelector("[data-cut=first] svg").outerHTML !== old, before);
    await map.press("Home");
    assert.equal(await page.getAttribute(".reading", "data-bin"), `${i} ${j}`);
  }));

test("the switch shows the standard error", () =>
  opened("dish.html", async (page) => {
    const picture = () =>
      page.$eval(".map image", (image) => image.getAttribute("href") ?? image.getAttribute("xlink:href"));
    const flux = await picture();
    await page.getByRole("radio", { name: "standard error" }).check();
    await page.waitForFunction((old) => {
      const image = document.querySelector(".map image");
      return (image.getAttribute("href") ?? image.getAttribute("xlink:href")) !== old;
    }, flux);
    assert.match(await page.getAttribute(".map", "aria-label"), /standard error/);
  }));

test("a tube is unrolled to its own metres", () =>
  opened("bowl.html", async (page) => {
    const [x, y] = await page.$eval(".map", (svg) => [svg.scale("x").domain, svg.scale("y").domain]);
    // scenes/bowl.toml: radius 0.7 m, length 4 m.
    assert.ok(Math.abs(x[1] - x[0] - 2 * Math.PI * 0.7) < 1e-9, `around ${x}`);
    assert.deepEqual(y, [-2, 2]);
  }));

test("a cone becomes the sector that its skin is", () =>
  opened("cone.html", async (page) => {
    const [x, y] = await page.$eval(".map", (svg) => [svg.scale("x").domain, svg.scale("y").domain]);
    // Slant sqrt(1 + 0.4^2); distance from the tip r / sin, sin = 0.4 / slant; the sector spans 2 pi sin, 134 degrees.
    const slant = Math.hypot(1, 0.4),
      sine = 0.4 / slant,
      far = 0.8 / sine,
      near = 0.4 / sine;
    assert.ok(Math.abs(x[1] - x[0] - 2 * far * Math.sin(Math.PI * sine)) < 1e-6 * far, `across ${x}`);
    const heights = y.map(Math.abs).sort((a, b) => a - b);
    assert.ok(Math.abs(heights[1] - far) < 1e-6 * far, `far rim ${y}`);
    assert.ok(Math.abs(heights[0] - near * Math.cos(Math.PI * sine)) < 1e-6 * far, `corner ${y}`);
  }));

test("the view in space draws, turns and hides rays", () =>
  opened("dish.html", async (page) => {
    assert.ok((await drawnShare(page, "canvas.space")) > 0.05);
    const start = await pictureOf(page, "canvas.space");
    await page.locator("canvas.space").press("ArrowLeft");
    const turned = await pictureOf(page, "canvas.space");
    assert.notEqual(turned, start);
    await page.getByRole("button", { name: "whole" }).click();
    assert.equal(await pictureOf(page, "canvas.space"), start);
    const box = await page.locator("canvas.space").boundingBox();
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2 + 80, box.y + box.height / 2, { steps: 4 });
    await page.mouse.up();
    const dragged = await pictureOf(page, "canvas.space");
    assert.notEqual(dragged, start);
    await page.getByRole("checkbox", { name: /^absorbed by a receiver/ }).uncheck();
    assert.notEqual(await pictureOf(page, "canvas.space"), dragged);
  }));

test("the receiver is painted: without flux the picture is another", () =>
  opened("bowl.html", async (page) => {
    const share = await drawnShare(page, "canvas.space");
    assert.ok(share > 0.05, `${share}`);
    const fates = await page.$$eval(".fates label", (all) => all.length);
    assert.ok(fates >= 3, `${fates} kinds of rays`);
  }));

// Web Content Accessibility Guidelines 2.1, success criterion 1.4.3, and its definitions of luminance and contrast.
function contrast(a, b) {
  const luminance = (colour) => {
    const [r, g, b_] = colour
      .match(/[\d.]+/g)
      .slice(0, 3)
      .map((v) => {
        const c = Number(v) / 255;
        return c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
      });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b_;
  };
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
}

const colour = (page, selector, name) => page.$eval(selector, (e, n) => getComputedStyle(e)[n], name);

for (const colorScheme of ["light", "dark"]) {
  test(`text stands out, ${colorScheme}`, () =>
    opened(
      "dish.html",
      async (page) => {
        for (const [text, ground] of [
          ["h1", "body"],
          [".subtitle", "body"],
          [".note", "section"],
          [".card dd", "section"],
          [".caution", ".caution"],
          ["nav a", "body"],
        ]) {
          const ratio = contrast(await colour(page, text, "color"), await colour(page, ground, "backgroundColor"));
          assert.ok(ratio >= 4.5, `${text} on ${ground}: ${ratio.toFixed(2)}`);
        }
        const dark = contrast(await colour(page, "body", "backgroundColor"), "rgb(0, 0, 0)") < 4;
        assert.equal(dark, colorScheme === "dark");
      },
      { colorScheme },
    ));
}

test("paper is light, whatever the screen was, and keeps the caution", () =>
  opened(
    "dish.html",
    async (page) => {
      await page.emulateMedia({ media: "print", colorScheme: "dark" });
      assert.ok(contrast(await colour(page, "h1", "color"), "rgb(255, 255, 255)") > 10);
      assert.ok(await page.isVisible(".caution"));
      assert.ok(!(await page.isVisible("nav")));
    },
    { colorScheme: "dark" },
  ));

test("everything that can be used has a name", () =>
  opened("dish.html", async (page) => {
    for (const role of ["button", "radio", "checkbox", "slider", "combobox", "img"]) {
      const all = await page.getByRole(role).count(),
        named = await page.getByRole(role, { name: /\S/ }).count();
      assert.equal(named, all, role);
    }
    assert.ok((await page.getByRole("img").count()) >= 3);
  }));

test("narrow screens scroll one way only", () =>
  opened(
    "dish.html",
    async (page) => {
      const [content, screen] = await page.evaluate(() => [
        document.documentElement.scrollWidth,
        document.documentElement.clientWidth,
      ]);
      assert.ok(content <= screen, `${content} on ${screen}`);
    },
    { viewport: { width: 390, height: 800 } },
  ));
