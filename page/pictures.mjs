// The pictures of docs/report.md, from the shipped scenes: node page/pictures.mjs PROGRAM [FOLDER]
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [, , program, target = "docs/pictures"] = process.argv;
const executablePath = process.env.CATOPTRA_CHROMIUM ?? "/usr/bin/chromium";
const root = fileURLToPath(new URL("..", import.meta.url)),
  folder = mkdtempSync(path.join(tmpdir(), "catoptra-pictures-"));
const run = (...words) =>
  execFileSync(path.resolve(program), words, { cwd: folder, stdio: ["ignore", "ignore", "inherit"] });
const scene = (name) => path.join(root, "scenes", `${name}.toml`);

for (const name of ["bowl", "tower"]) {
  run("trace", scene(name), "-o", `${name}.h5`, "--samples", "2^22", "-q");
  run("report", `${name}.h5`);
}
run("steer", scene("bowl"), "--day", "2026-06-21", "--every", "1h", "--samples", "2^15", "-q", "-o", "day.h5");
run("report", "day.h5");

const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"],
});

async function picture(page, element, name, options = {}) {
  const tab = await browser.newPage({ viewport: { width: 900, height: 900 }, ...options });
  await tab.goto(pathToFileURL(path.join(folder, page)).href);
  await tab.waitForSelector("html[data-ready]");
  await tab.locator(element).scrollIntoViewIfNeeded();
  await tab.waitForTimeout(1000);
  await tab.locator(element).screenshot({ path: path.join(target, `${name}.png`) });
  console.log(`picture: ${path.join(target, `${name}.png`)}`);
  await tab.close();
}

try {
  await picture("bowl.html", "#space", "report-space");
  await picture("bowl.html", "#section", "report-section");
  await picture("bowl.html", "#budget", "report-budget");
  await picture("bowl.html", "#flux", "report-flux");
  await picture("tower.html", "#space", "report-tower-dark", { colorScheme: "dark" });
  await picture("day.html", "#day", "report-day");
} finally {
  await browser.close();
  rmSync(folder, { recursive: true });
}
