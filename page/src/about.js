// What was traced, from what, and how to do it again.
import { h } from "./dom.js";
import { plain, withError, words } from "./numbers.js";
import { number } from "./stored.js";

/// The numbers that answer first. For a schedule: the best and the mean over its suns.
export function keyFigures(file) {
  const card = (name, value, note) =>
    h("div", { class: "card" }, h("dt", {}, name), h("dd", {}, value, note && h("small", {}, note)));
  const cards = [];
  if (file.isSchedule) {
    const best = (path, factor, unit) => {
      const values = Array.from(file.values(path), number),
        errors = file.errors(path);
      const i = values.reduce((top, v, k) => (v > values[top] ? k : top), 0);
      const time = file.values("/local_time")[i];
      return [
        withError({ value: factor * values[i], error: factor * number(errors?.[i] ?? 0) }, unit),
        time ? `best, at ${time.replace("T", " ")}` : "best",
      ];
    };
    cards.push(
      card("optical efficiency", ...best("/optical_efficiency", 100, "%")),
      card("intercept factor", ...best("/intercept_factor", 100, "%")),
    );
    for (const r of file.receivers)
      cards.push(card(`absorbed by ${r}`, ...best(`/receivers/${r}/absorbed_power_W`, 1e-3, "kW")));
  } else {
    cards.push(
      card(
        "optical efficiency",
        withError(percent(file.estimate("/optical_efficiency")), "%"),
        "absorbed / (DNI \u00d7 aperture area)",
      ),
    );
    cards.push(
      card(
        "intercept factor",
        withError(percent(file.estimate("/intercept_factor")), "%"),
        "arrives / leaves the last mirror unblocked",
      ),
    );
    for (const r of file.receivers) {
      cards.push(card(`absorbed by ${r}`, withError(kilo(file.estimate(`/receivers/${r}/absorbed_power_W`)), "kW")));
      cards.push(
        card(`peak on ${r}`, withError(file.estimate(`/receivers/${r}/peak_concentration`), "suns"), "of one bin"),
      );
      cards.push(card(`mean on ${r}`, withError(file.estimate(`/receivers/${r}/mean_concentration`), "suns")));
    }
  }
  return h("dl", { class: "cards" }, cards);
}

const percent = ({ value, error }) => ({ value: 100 * value, error: 100 * error });
const kilo = ({ value, error }) => ({ value: value / 1000, error: error / 1000 });

function facts(pairs) {
  return h(
    "dl",
    { class: "facts" },
    pairs
      .filter(([, value]) => value !== undefined && value !== "" && value !== null)
      .map(([name, value]) => [h("dt", {}, name), h("dd", {}, value)]),
  );
}

/// Where the sun of one instant stands.
export function sunWords(file) {
  const [azimuth, elevation] = ["/sun/azimuth_deg", "/sun/elevation_deg"].map((path) => plain(file.values(path), 5));
  return `azimuth ${azimuth}\u00b0, elevation ${elevation}\u00b0`;
}

export function whatWasTraced(file) {
  const a = file.attributes,
    sun = file.isSchedule ? undefined : sunWords(file);
  return facts([
    [
      "sun",
      [sun, `DNI ${plain(file.dni)} W/m²`, file.values("/sun/shape") && `${words(file.values("/sun/shape"))} sunshape`]
        .filter(Boolean)
        .join(", "),
    ],
    ["aperture area", `${plain(file.values("/aperture_area_m2"))} m² of primaries`],
    ["incident power", file.isSchedule ? undefined : `${plain(file.values("/incident_power_W") / 1000)} kW`],
    [
      "samples",
      `${plain(Number(a.samples), 12)} in ${a.replicates} replicates, seed ${a.seed}` +
        (file.isSchedule ? ", for each sun" : ""),
    ],
    ["errors", "one standard error of the mean, from the spread of the replicates"],
  ]);
}

/// Quoted for a POSIX shell.
const quoted = (word) => (/^[\w./:=,+@%^-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`);

function downloadButton(text, name) {
  return h(
    "button",
    {
      type: "button",
      onclick: () => {
        const link = h("a", { href: URL.createObjectURL(new Blob([text], { type: "text/plain" })), download: name });
        link.click();
        URL.revokeObjectURL(link.href);
      },
    },
    `save ${name}`,
  );
}

export function provenance(file) {
  const a = file.attributes,
    source = file.values("/scene/source"),
    path = file.set("/scene/source")?.path ?? "scene.toml";
  const pulled = file.values("/scene/pulled_in/path") ?? [],
    texts = file.values("/scene/pulled_in/text") ?? [];
  return [
    facts([
      ["result", file.path],
      ["written by", a.generator],
      ["on", a.created_utc?.replace("T", " ").replace("Z", " UTC")],
      ["built with", [a.compiler, a.instruction_set].filter(Boolean).join(", ")],
      ["ray search", a.search],
      ["took", a.wall_time_s > 0 ? `${plain(a.wall_time_s, 3)} s` : undefined],
      ["result schema", String(a.schema_version)],
    ]),
    h("h3", {}, "How to repeat the run"),
    h("p", {}, "Save the scene below under its name. Then run, with the same version of the program:"),
    h("pre", { class: "command" }, a.command),
    h(
      "p",
      { class: "note" },
      "The same scene, seed, samples and replicates give the same numbers to the last bit, with any number of threads.",
    ),
    h(
      "details",
      { class: "source" },
      h("summary", {}, `the scene, ${path}`),
      downloadButton(source, quoted(path).split("/").pop()),
      h("pre", {}, source),
    ),
    pulled.map((name, i) =>
      h(
        "details",
        { class: "source" },
        h("summary", {}, `a file that it names, ${name}`),
        downloadButton(texts[i], name.split("/").pop()),
        h("pre", {}, texts[i]),
      ),
    ),
  ];
}

export function warnings(file) {
  const lines = (file.attributes.warnings ?? "").split("\n").filter(Boolean);
  return (
    lines.length > 0 &&
    h(
      "div",
      { class: "warning", role: "note" },
      lines.map((line) => h("p", {}, `warning: ${line}`)),
    )
  );
}

export function caution() {
  return h(
    "aside",
    { class: "caution", role: "note", "aria-label": "caution" },
    h(
      "p",
      {},
      h("strong", {}, "Caution. "),
      "Concentrated sunlight burns skin, blinds within an instant and sets things on fire. This also happens away " +
        "from the focus: beside the receiver, and wherever a mirror that has stopped moving sends the sun next. A " +
        "computed flux does not prove that a machine is safe. Before you build anything, plan shields, a way to " +
        "defocus that works without power, and eye protection. Follow local codes, and have engineers check the " +
        "design who are licensed to practise at the site.",
    ),
  );
}
