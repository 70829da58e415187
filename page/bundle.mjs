// Bundles src/ into one HTML file that needs nothing else: node bundle.mjs OUT.html
import { readFile, writeFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const from = (name) => fileURLToPath(new URL(`src/${name}`, import.meta.url));

async function bundled(entry) {
  const done = await build({
    entryPoints: [from(entry)],
    bundle: true,
    minify: true,
    write: false,
    format: "iife",
    target: "es2020",
    charset: "utf8",
    legalComments: "eof", // the licences of what is inside go along
    logLevel: "warning",
  });
  return done.outputFiles[0].text;
}

const [script, style, frame] = await Promise.all([
  bundled("main.js"),
  bundled("style.css"),
  readFile(from("frame.html"), "utf8"),
]);
const page = frame
  .replace("/* style */", () => style.trim())
  // A script element ends at the first of these, wherever it stands.
  .replace("/* script */", () => script.trim().replaceAll("</script", "<\\/script").replaceAll("<!--", "<\\!--"));
await writeFile(process.argv[2], page);
