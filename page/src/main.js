// The page: reads its data, builds the sections that the data has something for.
import { caution } from "./about.js";
import { comparison } from "./compare.js";
import { h } from "./dom.js";
import { resultSections } from "./result.js";
import { sceneSections } from "./scene.js";

/// Light, dark, or as the reader's machine has it; on paper everything is light. Charts take their colours from CSS; the
/// view in space is told.
const themes = ["as the system", "light", "dark"],
  systemIsDark = matchMedia("(prefers-color-scheme: dark)"),
  root = document.documentElement;
let chosen = 0;

function recolour() {
  const dark = themes[chosen] === "dark" || (chosen === 0 && systemIsDark.matches);
  root.toggleAttribute("data-dark", dark && !("printing" in root.dataset));
  document.dispatchEvent(new Event("themechange"));
}

function themeButton() {
  const button = h("button", { type: "button", class: "theme" }, `colours: ${themes[chosen]}`);
  button.onclick = () => {
    chosen = (chosen + 1) % themes.length;
    button.textContent = `colours: ${themes[chosen]}`;
    recolour();
  };
  return button;
}

function followColours() {
  systemIsDark.addEventListener("change", recolour);
  addEventListener("beforeprint", () => {
    root.dataset.printing = "";
    recolour();
  });
  addEventListener("afterprint", () => {
    delete root.dataset.printing;
    recolour();
  });
  recolour();
}

function main() {
  const data = JSON.parse(document.getElementById("data").textContent);
  const licences = document.getElementById("licences").textContent;
  const kinds = {
    result: { name: "result", build: () => resultSections(data.files[0]) },
    scene: { name: "scene", build: () => sceneSections(data.files[0]) },
    comparison: { name: "comparison", build: () => comparison(data.files) },
  };
  const { name, build } = kinds[data.kind];
  const title = data.title || "without a title";
  document.title = `${title} \u2013 Catoptra`;
  const { subtitle, sections } = build();
  const parts = sections.filter(Boolean);
  document.body.append(
    h(
      "header",
      {},
      h("p", { class: "kind" }, `Catoptra, ${name}`, themeButton()),
      h("h1", {}, title),
      subtitle && h("p", { class: "subtitle" }, subtitle),
      h(
        "nav",
        { "aria-label": "sections" },
        h(
          "ul",
          {},
          parts.map((part) => h("li", {}, h("a", { href: `#${part.id}` }, part.querySelector("h2").textContent))),
        ),
      ),
    ),
    caution(),
    h("main", {}, parts),
    h(
      "footer",
      {},
      h("details", {}, h("summary", {}, "licences of the libraries that draw this page"), h("pre", {}, licences)),
    ),
  );
  root.dataset.ready = "";
}

followColours();
main();
