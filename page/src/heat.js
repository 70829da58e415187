// What a receiver's heat is worth: its balance at the scene's temperature, and the temperatures that bound it.
import { h } from "./dom.js";
import { plain, withError } from "./numbers.js";

/// Name in the file, words, what they mean (docs/theory/heat.md), unit.
const lines = [
  ["heat_in_W", "heat taken in", "absorbed by way of the mirrors and straight from the sun", "W"],
  ["heat_loss_W", "heat lost", "by radiation and convection", "W"],
  ["useful_heat_W", "useful heat", "heat taken in minus heat lost", "W"],
  ["receiver_efficiency", "receiver efficiency", "useful heat / heat taken in", ""],
  ["work_W", "maximum work", "useful heat × Carnot factor", "W"],
  ["stagnation_temperature_K", "stagnation temperature", "all heat taken in is lost", "K"],
  ["best_temperature_K", "best temperature", "the maximum work is greatest", "K"],
  ["best_work_W", "maximum work then", "at the best temperature", "W"],
];

function heatTable(file, receiver, row) {
  const group = `/receivers/${receiver}/heat/`;
  if (!file.has(`${group}temperature_K`)) return undefined;
  const of = (name) => file.estimate(group + name, row);
  // JSON has no infinity: a temperature that is none is infinite, but for the best one of no light at all.
  const said = (name, estimate, unit) =>
    name.endsWith("temperature_K") && !Number.isFinite(estimate.value) && of("heat_in_W").value > 0
      ? "infinite"
      : withError(estimate, unit);
  return h(
    "figure",
    { "data-heat": receiver },
    h("figcaption", {}, `${receiver}, all of its front at ${plain(of("temperature_K").value)} K`),
    h(
      "table",
      { class: "plain heat" },
      h(
        "tbody",
        {},
        lines.map(([name, words, meaning, unit]) => {
          const estimate = of(name);
          return h(
            "tr",
            { "data-row": name },
            h("th", { scope: "row" }, words, h("small", {}, meaning)),
            h(
              "td",
              { class: "number" },
              h("data", { value: estimate.value, "data-error": estimate.error }, said(name, estimate, unit)),
            ),
          );
        }),
      ),
    ),
    of("useful_heat_W").value < 0 &&
      h("p", { class: "note" }, "Useful heat below 0: the receiver has to be heated to keep its temperature."),
  );
}

/// At `row` of a schedule.
export function heatSection(file, row) {
  const tables = file.receivers.map((receiver) => heatTable(file, receiver, row)).filter(Boolean);
  return (
    tables.length > 0 && [
      tables,
      h(
        "p",
        { class: "note" },
        "The model has one temperature for all of the front. A real receiver is hottest where its flux peaks, and " +
          "loses more. Standard errors come from the heat taken in alone, not from emittance and convection.",
      ),
    ]
  );
}
