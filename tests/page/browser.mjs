// What the page tests share: a folder with results of small invented scenes, a browser that reports every console
// message, error and request, and the numbers of a result as h5py reads them.
import assert from "node:assert/strict";
import { execFileSync, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { after, before } from "node:test";
import { pathToFileURL } from "node:url";

const [program, source] = process.argv.slice(2).map((name) => path.resolve(name));
const executablePath = process.env.CATOPTRA_CHROMIUM ?? "/usr/bin/chromium";
const driver = path.join(source, "page/node_modules/playwright-core/index.mjs");

function skip(reason) {
  const required = process.env.CATOPTRA_PAGE_TESTS === "required";
  console.log(`${required ? "failed" : "skipped"}: ${reason}`);
  process.exit(required ? 1 : 77);
}

if (!existsSync(executablePath)) skip("there is no Chromium; tools/setup develop installs it");
if (spawnSync(program, ["report", "none.h5"], { encoding: "utf8" }).stderr.includes("without its pages"))
  skip("this program was built without its pages");
if (!existsSync(driver)) skip("playwright-core is not in page/node_modules");
const { chromium } = await import(pathToFileURL(driver));

export const folder = mkdtempSync(path.join(tmpdir(), "catoptra-page-"));

/// Runs the program in the tests' folder; anything but exit code 0 is a failure.
export function run(...words) {
  return execFileSync(program, words, { cwd: folder, encoding: "utf8" });
}

export function write(name, text) {
  writeFileSync(path.join(folder, name), text);
}

/// The finishes of the scenes that the tests write.
export const finishes = `[finish.silver]
kind = "mirror"
reflectance = 0.9
[finish.black]
kind = "absorber"
absorptance = 0.9`;

/// A dish under a high sun, and what stands in its light; invented.
export const dishWith = (title, receiver) => `schema = 1
title = "${title} (invented)"
[sun]
azimuth_deg = 180
elevation_deg = 60
shape = { kind = "disc" }
${finishes}
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "circle", diameter_m = 8 }
finish = "silver"
mount = { kind = "two_axis", pivot_m = [0, 0, 6] }
[[receiver]]
${receiver}
finish = "black"
`;

/// In its focus.
export const plate = `name = "plate"
shape = { kind = "disc", diameter_m = 0.3 }
mount = { kind = "carried", by = "dish", position_m = [0, 0, 5], axis = [0, 0, -1] }`;

export const shipped = (scene) => path.join(source, "scenes", scene);

/// Datasets of a result as Debian's h5py reads them: { path: number, text or nested lists }, NaN as null; "path@name" is
/// the dataset's attribute, null where it has none.
export function stored(name, ...paths) {
  const script = `
import h5py, json, math, sys
def plain(x):
    if isinstance(x, list): return [plain(v) for v in x]
    if isinstance(x, bytes): return x.decode()
    return None if isinstance(x, float) and math.isnan(x) else x
with h5py.File(sys.argv[1]) as f:
    read = {p: f[p.split("@")[0]].attrs.get(p.split("@")[1]) if "@" in p else f[p][()] for p in sys.argv[2:]}
    print(json.dumps({p: plain(v.tolist() if hasattr(v, "tolist") else v) for p, v in read.items()}))`;
  return JSON.parse(
    execFileSync("/usr/bin/python3", ["-c", script, path.join(folder, name), ...paths], { encoding: "utf8" }),
  );
}

let browser;
before(async () => {
  browser = await chromium.launch({
    executablePath,
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
});
after(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true });
});

/// Opens a page of the folder and gives it to `act`; afterwards nothing may have been said on the console, thrown, or
/// asked of a network.
export async function opened(name, act, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1100, height: 900 }, offline: true, ...options });
  context.setDefaultTimeout(180_000); // a busy machine is no fault of the page
  const page = await context.newPage();
  const said = [];
  page.on("console", (message) => said.push(`${message.type()}: ${message.text()}`));
  page.on("pageerror", (error) => said.push(`thrown: ${error.stack}`));
  page.on("request", (request) => {
    if (!/^(file|data|blob):/.test(request.url())) said.push(`asked for ${request.url()}`);
  });
  try {
    await page.goto(pathToFileURL(path.join(folder, name)).href);
    await page.waitForSelector("html[data-ready]");
    await act(page);
    // Drivers of software rendering tell how slow they are; that is not the page's doing.
    assert.deepEqual(
      said.filter((line) => !line.includes("GPU stall due to ReadPixels")),
      [],
    );
  } finally {
    await context.close();
  }
}

/// Share of a canvas's pixels that differ from its most frequent one.
export async function drawnShare(page, selector) {
  await page.locator(selector).scrollIntoViewIfNeeded();
  await page.waitForFunction((s) => document.querySelector(s).parentElement.dataset.drawn > 0, selector);
  return page.$eval(selector, (canvas) => {
    const copy = document.createElement("canvas");
    copy.width = canvas.width;
    copy.height = canvas.height;
    const pen = copy.getContext("2d", { willReadFrequently: true });
    pen.drawImage(canvas, 0, 0);
    const pixels = new Uint32Array(pen.getImageData(0, 0, copy.width, copy.height).data.buffer),
      counts = new Map();
    for (const pixel of pixels) counts.set(pixel, (counts.get(pixel) ?? 0) + 1);
    return 1 - Math.max(...counts.values()) / pixels.length;
  });
}

/// What the canvas shows, to be compared with what it shows later.
export async function pictureOf(page, selector) {
  const drawn = page.locator(selector);
  await drawn.scrollIntoViewIfNeeded();
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  return drawn.evaluate((canvas) => canvas.toDataURL());
}
