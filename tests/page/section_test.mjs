// The section through a scene, names in the view in space, values on contour lines, and names that JavaScript knows.
import assert from "node:assert/strict";
import { test } from "node:test";
import { dishWith, finishes, opened, plate, run, write } from "./browser.mjs";

// A dish that looks straight up: every upright plane through the receiver cuts a parabola of 8 m width and
// (4 m)² / (4 x 5 m) = 0.8 m depth (y = x²/4f, any textbook of geometry). The receiver has a name that every
// JavaScript object has too. Invented.
write(
  "up.toml",
  `schema = 1
title = "A dish that looks up (invented)"
[sun]
azimuth_deg = 180
elevation_deg = 90
shape = { kind = "disc" }
${finishes}
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "circle", diameter_m = 8 }
finish = "silver"
mount = { kind = "fixed" }
[[receiver]]
name = "__proto__"
shape = { kind = "disc", diameter_m = 0.3 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 5], axis = [0, 0, -1] }
[[obstacle]]
name = "constructor"
shape = { kind = "disc", diameter_m = 1 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 5.5] }
`,
);
run("trace", "up.toml", "--samples", "2^14", "-q");
run("report", "up.h5");

/// Ends of what the plane cuts, in m: pixels taken back by the ticks of both axes.
async function cuts(page) {
  await page.locator("#section").scrollIntoViewIfNeeded();
  return page.$eval("#section svg.section", (drawing) => {
    const scaleOf = (axis) => {
      const ticks = [...drawing.querySelectorAll(`[aria-label="${axis}-axis tick label"] text`)].map((text) => {
        const [, x, y] = /translate\(([-\d.]+),([-\d.]+)\)/.exec(text.getAttribute("transform"));
        return [Number(axis === "x" ? x : y), Number(text.textContent.replace("\u2212", "-"))];
      });
      const [[p, a], [q, b]] = [ticks[0], ticks.at(-1)];
      return (at) => a + ((at - p) / (q - p)) * (b - a);
    };
    const [x, y] = [scaleOf("x"), scaleOf("y")];
    return [...drawing.querySelectorAll('[aria-label="link"]')].map((component) => {
      const points = [...component.querySelectorAll("path")].flatMap((path) =>
        [...path.getAttribute("d").matchAll(/([-\d.]+),([-\d.]+)/g)].map(([, u, v]) => [x(Number(u)), y(Number(v))]),
      );
      const of = (axis) => points.map((p) => p[axis]);
      return [Math.min(...of(0)), Math.max(...of(0)), Math.min(...of(1)), Math.max(...of(1))];
    });
  });
}

test("an upright plane cuts every component where it stands", () =>
  opened("up.html", async (page) => {
    const near = (found, expected) =>
      found.forEach((v, k) => assert.ok(Math.abs(v - expected[k]) < 0.02, `${found} is not ${expected}`));
    for (const plane of ["toward the sun", "south to north"]) {
      await page.getByRole("radio", { name: plane, exact: true }).check();
      const [dish, receiver, obstacle] = await cuts(page);
      near(dish, [-4, 4, 0, 0.8]);
      near(receiver, [-0.15, 0.15, 5, 5]);
      near(obstacle, [-0.5, 0.5, 5.5, 5.5]);
    }
    const sizes = await page.$$eval('.sizes tr[data-component="dish"] td', (all) => all.map((e) => e.textContent));
    assert.deepEqual(sizes, ["8", "8", "0.8", "1"]);
  }));

test("rays near the plane are counted, and a wider slab takes more of them", () =>
  opened("up.html", async (page) => {
    const drawn = async (place) => {
      await page.$eval(
        "#section input[type=range]",
        (input, value) => {
          input.value = value;
          input.dispatchEvent(new Event("input"));
        },
        place,
      );
      return page.locator('#section svg.section [aria-label="line"] path').count();
    };
    await cuts(page);
    const [few, all] = [await drawn(0), await drawn(5)];
    assert.ok(few < all / 3, `${few} of ${all}`);
    assert.match(await page.textContent("#section .note"), new RegExp(`${all} of \\d+ rays`));
  }));

test("the drawing is saved as an SVG that stands alone", () =>
  opened("up.html", async (page) => {
    await cuts(page);
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("button", { name: "save section.svg" }).click(),
    ]);
    const { readFileSync } = await import("node:fs");
    const text = readFileSync(await download.path(), "utf8");
    assert.match(text, /^<svg [^>]*xmlns="http:\/\/www\.w3\.org\/2000\/svg"/);
    assert.doesNotMatch(text, /var\(--/); // colours are written out
    assert.match(text, />dish</);
  }));

test("the component under the pointer is named", () =>
  opened("up.html", async (page) => {
    const canvas = page.locator("#space canvas");
    await canvas.scrollIntoViewIfNeeded();
    await page.waitForFunction(() => document.querySelector(".space-box").dataset.drawn > 0);
    await page.getByRole("button", { name: "from above" }).click();
    const { x, y, width, height } = await canvas.boundingBox();
    // Between the obstacle in the middle and the dish's rim there is nothing but the dish, whichever way is up.
    for (const [dx, words] of [[0, "obstacle constructor, disc"], [0.15, "primary dish, paraboloid"]]) {
      await page.mouse.move(x + width / 2 + dx * height, y + height / 2);
      await page.waitForFunction((text) => document.querySelector(".tip").textContent === text, words);
    }
    await page.mouse.move(x + 3, y + 3);
    await page.waitForFunction(() => document.querySelector(".tip").hidden);
  }));

test("contour lines carry their values", async () => {
  // A wide flat image, so that lines are long enough.
  write("wide.toml", dishWith("A dish", plate.replace("position_m = [0, 0, 5]", "position_m = [0, 0, 5.1]")));
  run("trace", "wide.toml", "--samples", "2^18", "-q");
  run("report", "wide.h5");
  await opened("wide.html", async (page) => {
    await page.locator("#flux svg.map").scrollIntoViewIfNeeded();
    const values = await page.$$eval(".contour-value", (all) => all.map((e) => Number(e.textContent)));
    assert.ok(values.length >= 2, `${values}`);
    const top = Number((await page.getAttribute("#flux .colour-bar", "aria-label")).match(/0 to ([\d.]+)/)[1]);
    values.forEach((v, k) => assert.ok(v > 0 && v < top && (k === 0 || v > values[k - 1]), `${values}`));
  });
});
