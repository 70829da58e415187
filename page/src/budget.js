// Where the light went: a waterfall that is a table, so that every number can be read, copied and heard.
import { fates } from "./colours.js";
import { h, svg } from "./dom.js";
import { plain, scaled, withError, words } from "./numbers.js";
import { number } from "./stored.js";

/// The budget's terms with their estimates in W; of row `moment` in a schedule.
export function budgetOf(file, moment) {
  const names = file.values("/budget/term");
  const meanings = file.values("/budget/meaning"), // none in files of schema 1
    power = file.values("/budget/power_W"),
    errors = file.errors("/budget/power_W");
  const from = file.isSchedule ? moment * names.length : 0;
  return names.map((name, i) => ({
    name,
    meaning: meanings?.[i],
    value: number(power[from + i]),
    error: number(errors[from + i]),
  }));
}

/// What each component did to the light, as the file tells it; none in schedules and older files:
/// [{ term, parts: [{ name, value, error }] }], for terms to which several components add, the largest part first.
export function partsOf(file) {
  const names = file.values("/budget/component"),
    power = file.values("/budget/power_by_component_W");
  if (!names || !power) return [];
  const errors = file.errors("/budget/power_by_component_W"),
    terms = file.values("/budget/term");
  return terms
    .map((term, t) => ({
      term,
      parts: names
        .map((name, c) => ({
          name,
          value: number(power[c * terms.length + t]),
          error: number(errors[c * terms.length + t]),
        }))
        .filter((part) => part.value !== 0)
        .sort((a, b) => Math.abs(b.value) - Math.abs(a.value)),
    }))
    .filter(({ parts }) => parts.length > 1);
}

/// A table of these; null where no term has several parts.
export function partsTable(file) {
  const terms = partsOf(file),
    whole = wholeOf(file);
  if (terms.length === 0) return null;
  return h(
    "table",
    { class: "parts" },
    h("caption", {}, "Terms to which several components add, by component"),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        ["term", "component"].map((name) => h("th", { scope: "col" }, name)),
        ["W", "%"].map((unit) => h("th", { scope: "col", class: "number" }, unit)),
      ),
    ),
    terms.map(({ term, parts }) =>
      h(
        "tbody",
        { "data-term": term },
        parts.map((part, i) =>
          h(
            "tr",
            {},
            i === 0 && h("th", { scope: "rowgroup", rowspan: parts.length }, words(term)),
            h("th", { scope: "row" }, part.name),
            h(
              "td",
              { class: "number", "data-unit": " W" },
              h("data", { value: part.value, "data-error": part.error }, withError(part)),
            ),
            h("td", { class: "number", "data-unit": " %" }, withError(scaled(part, 100 / whole))),
          ),
        ),
      ),
    ),
  );
}

/// DNI times aperture area, W: what the terms add to.
export function wholeOf(file) {
  return file.dni * file.values("/aperture_area_m2");
}

/// A bar from `start` to `start + share` of the whole, with its error at the moving end.
function bar(start, share, error, kind) {
  const at = (x) => `${(100 * x).toFixed(3)}%`;
  const end = kind === "absorbed" || kind === "whole" ? start + share : start;
  return svg(
    "svg",
    { class: "bar", "aria-hidden": "true", height: 22, width: "100%" },
    [0.25, 0.5, 0.75].map((x) => svg("line", { class: "grid", x1: at(x), x2: at(x), y1: 0, y2: 22 })),
    svg("rect", { class: kind, x: at(start), width: at(Math.max(0, share)), y: 4, height: 14 }),
    error > 0 && svg("line", { class: "whisker", x1: at(end - error), x2: at(end + error), y1: 11, y2: 11 }),
    error > 0 &&
      [-1, 1].map((sign) =>
        svg("line", { class: "whisker", x1: at(end + sign * error), x2: at(end + sign * error), y1: 7, y2: 15 }),
      ),
  );
}

function row(name, meaning, estimate, whole, left, kind) {
  const share = scaled(estimate, 1 / whole);
  return h(
    "tr",
    { class: kind, "data-term": name },
    h("th", { scope: "row" }, words(name), meaning && h("small", {}, meaning)),
    h("td", { class: "picture" }, bar(left, share.value, share.error, kind)),
    h(
      "td",
      { class: "number", "data-unit": " W" },
      h("data", { value: estimate.value, "data-error": estimate.error }, withError(estimate)),
    ),
    h("td", { class: "number", "data-unit": " %" }, withError(scaled(share, 100))),
  );
}

const colourOf = (name) => fates[name]?.colour ?? (name === "cosine" ? "#bbbbbb" : "#666666");

/// One bar a result, from what the sun offers: terms in the budget's order from the right, what is absorbed on the left.
/// `results`: [{ name, terms, whole }].
export function stackedBudgets(results) {
  const kinds = [...new Set(results.flatMap(({ terms }) => terms.map((term) => term.name)))].filter((name) =>
    results.some(({ terms, whole }) => Math.abs(terms.find((t) => t.name === name)?.value ?? 0) > 5e-4 * whole),
  );
  const at = (share) => `${(100 * share).toFixed(3)}%`;
  return h(
    "figure",
    { class: "stacked" },
    h("figcaption", {}, "Shares of DNI × aperture area; the absorbed power is at the left"),
    results.map(({ name, terms, whole }) => {
      let from = 0;
      return h(
        "div",
        {},
        h("div", {}, name),
        svg(
          "svg",
          { height: 22, width: "100%", role: "img", "aria-label": `Budget of ${name}; the numbers are in the table below` },
          [...kinds].reverse().map((kind) => {
            const share = Math.max(0, (terms.find((t) => t.name === kind)?.value ?? 0) / whole),
              start = from;
            from += share;
            return svg(
              "rect",
              { x: at(start), width: at(share), y: 1, height: 20, fill: colourOf(kind), "data-term": kind },
              svg("title", {}, `${words(kind)}: ${plain(100 * share, 4)} %`),
            );
          }),
        ),
      );
    }),
    h(
      "ul",
      { class: "legend" },
      [...kinds].reverse().map((kind) =>
        h(
          "li",
          {},
          svg(
            "svg",
            { width: 14, height: 12, "aria-hidden": "true" },
            svg("rect", { width: 14, height: 12, fill: colourOf(kind) }),
          ),
          words(kind),
        ),
      ),
    ),
  );
}

/// `closure`: what the terms leave over, measured; none in older files.
export function waterfall(terms, whole, closure) {
  let left = 1;
  const rows = terms.map((term) => {
    const kind = term.name === "absorbed" ? "absorbed" : "loss";
    if (kind === "loss") left -= term.value / whole;
    return row(term.name, term.meaning, term, whole, kind === "loss" ? left : 0, kind);
  });
  return h(
    "table",
    { class: "waterfall" },
    h("caption", {}, "Each bar begins where the one above ends; whiskers are one standard error to either side."),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        h("th", { scope: "col" }, "term"),
        h(
          "th",
          { scope: "col", class: "picture", "aria-label": "bar" },
          h(
            "span",
            { class: "ticks", "aria-hidden": "true" },
            ["0", "25", "50", "75", "100 %"].map((t) => h("span", {}, t)),
          ),
        ),
        h("th", { scope: "col", class: "number" }, "W"),
        h("th", { scope: "col", class: "number" }, "%"),
      ),
    ),
    h(
      "tbody",
      {},
      row("DNI \u00d7 aperture area", "all the sunlight", { value: whole, error: 0 }, whole, 0, "whole"),
      rows,
    ),
    h(
      "tfoot",
      {},
      h(
        "tr",
        {},
        h(
          "td",
          { colspan: 4 },
          closure && "Each term is counted by itself; they leave over ",
          closure && withError(closure, "W"),
          closure && " (closure), 0 within its error.",
        ),
      ),
    ),
  );
}
