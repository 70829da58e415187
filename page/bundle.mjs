// Bundles src/ into one HTML file that needs nothing else: node bundle.mjs OUT.html
import { readdir, readFile, writeFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const from = (name) => fileURLToPath(new URL(`src/${name}`, import.meta.url));

async function bundled(entry) {
  const done = await build({
    entryPoints: [from(entry)],
    bundle: true,
    minify: true,
    write: false,
    metafile: true,
    format: "iife",
    target: "es2020",
    charset: "utf8",
    legalComments: "none", // the licences follow whole
    logLevel: "warning",
  });
  return { text: done.outputFiles[0].text.trim(), inputs: Object.keys(done.metafile.inputs) };
}

/// What the licences of the packages inside ask for: their names and their texts, equal texts once.
async function licences(inputs) {
  const found = inputs.map((input) => /node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(input)?.[1]);
  const packages = [...new Set(found.filter(Boolean))].sort();
  const names = new Map();
  for (const name of packages) {
    const folder = fileURLToPath(new URL(`node_modules/${name}/`, import.meta.url));
    const file = (await readdir(folder)).find((one) => /^licen[cs]e/i.test(one));
    if (!file) throw new Error(`package ${name} has no licence file: look at its terms before it goes into a page`);
    const text = (await readFile(folder + file, "utf8")).trim();
    names.set(text, [...(names.get(text) ?? []), name]);
  }
  return [...names].map(([text, all]) => `${all.join(", ")}:\n\n${text}`).join("\n\n\n");
}

const [script, style, frame] = await Promise.all([
  bundled("main.js"),
  bundled("style.css"),
  readFile(from("frame.html"), "utf8"),
]);
const texts = await licences(script.inputs);
const page = frame
  .replace("/* style */", () => style.text)
  .replace("/* licences */", () => texts.replaceAll("</script", "<\\/script"))
  // A script element ends at the first of these, wherever it stands.
  .replace("/* script */", () => script.text.replaceAll("</script", "<\\/script").replaceAll("<!--", "<\\!--"));
await writeFile(process.argv[2], page);
