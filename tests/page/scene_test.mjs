// catoptra look: a scene alone, and a field of 500 mirrors.
import assert from "node:assert/strict";
import { test } from "node:test";
import { drawnShare, finishes, folder, opened, pictureOf, run, shipped, write } from "./browser.mjs";
import { statSync } from "node:fs";
import path from "node:path";

// 500 mirrors round a tower: invented.
write(
  "field.toml",
  `schema = 1
title = "Five hundred mirrors (invented)"
[sun]
azimuth_deg = 150
elevation_deg = 50
shape = { kind = "disc" }
${finishes}
[[primary]]
name = "field"
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 3, length_m = 3 }
finish = "silver"
mount = { kind = "heliostat", position_m = [0, 80, 3], aim = "top" }
array = { kind = "grid", count = [25, 20], spacing_m = [6, 6] }
[[receiver]]
name = "top"
shape = { kind = "cylinder", radius_m = 3, length_m = 6 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 50] }
flux = { bins = [36, 20] }
`,
);

test("a scene is drawn with a few rays, and its words and text are there", () => {
  const said = run("look", shipped("bowl.toml"), "-o", "bowl.html");
  assert.match(said, /^page: bowl\.html \(\d\.\d MB\)\n$/);
  return opened("bowl.html", async (page) => {
    assert.ok((await drawnShare(page, "canvas.space")) > 0.05);
    assert.match(await page.textContent(".fates legend"), /^200 rays/);
    assert.match(await page.textContent("#understood pre"), /pilot/);
    assert.match(await page.textContent("#source pre"), /schema = 1/);
    assert.match(await page.textContent(".scale"), /^one square of the ground grid: (1|2|5|10|20|50) m$/);
  });
});

test("a field of 500 mirrors is drawn, once", () => {
  run("look", "field.toml");
  run("trace", "field.toml", "--samples", "2^14", "-q");
  run("report", "field.h5", "-o", "report.html");
  for (const name of ["field.html", "report.html"]) assert.ok(statSync(path.join(folder, name)).size < 2.5e6);
  return opened("report.html", async (page) => {
    assert.ok((await drawnShare(page, "canvas.space")) > 0.02);
    await pictureOf(page, "canvas.space"); // two frames later
    assert.equal(await page.getAttribute(".space-box", "data-drawn"), "1");
  });
});
